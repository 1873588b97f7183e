use super::{find, sentence};
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::journal::{
    DifferenceLine, EntryLine, JournalInput, NoteInput, SetAsideLine, SettleInput, VerifyReport,
};
use crate::wire::{Done, Nothing};
use crate::{Failure, FailureKind};
use slotkeep_domain::journal::{Body, Noted};
use slotkeep_store::EntryFilter;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("journal.list", "Lists entries of the journal, newest first.", list),
        table::ask(
            "journal.verify",
            "Checks the chain, rebuilds every table from the journal and compares.",
            verify,
        ),
        table::record("journal.note", "Adds a remark on anything.", table::RECORDERS, note),
        table::ask(
            "journal.set_aside",
            "Lists records from outboxes that no longer fitted when they arrived.",
            set_aside,
        ),
        table::record(
            "journal.settle",
            "Says what was done about a record that was set aside.",
            table::HANDS,
            settle,
        ),
    ]
}

fn list(ask: &Ask<'_>, input: JournalInput) -> Result<Vec<EntryLine>, Failure> {
    ask.read(|r| {
        let subject = input.subject.filter(|text| !text.trim().is_empty());
        let filter = EntryFilter {
            subject: subject.map(|text| subject_name(r, &text)),
            kind: input.kind.filter(|kind| !kind.is_empty()),
            before_seq: input.before_seq,
            limit: input.limit.unwrap_or(50).min(1000),
        };
        Ok(r.entries(&filter)?.iter().map(sentence::line).collect())
    })
}

/// The name under which entries about a thing are kept: a scan becomes its label or address.
fn subject_name(r: &slotkeep_store::Reader<'_>, text: &str) -> String {
    if let Ok(unit) = find::unit(r, text) {
        return unit.label.to_string();
    }
    if let Ok(slot) = find::slot(r, text) {
        return slot.address.to_string();
    }
    if let Ok(lot) = find::lot(r, text) {
        return lot.label.to_string();
    }
    if let Ok(bin) = find::bin(r, text) {
        return bin.path.to_string();
    }
    if let Ok(rail) = find::rail(r, text) {
        return rail.address.to_string();
    }
    match find::cabinet(r, text) {
        Ok(cabinet) => cabinet.address.to_string(),
        Err(_) => text.trim().to_owned(),
    }
}

fn verify(ask: &Ask<'_>, _: Nothing) -> Result<VerifyReport, Failure> {
    let verdict =
        ask.store.verify(&mut |done, total| ask.progress("entries checked", done, total))?;
    let message = if verdict.is_clean() {
        format!("clean: {} entries, {} records", verdict.entries, verdict.records)
    } else {
        format!(
            "{} differences in {} entries and {} records: keep a copy of the file, then restore \
             a backup",
            verdict.count, verdict.entries, verdict.records
        )
    };
    Ok(VerifyReport {
        clean: verdict.is_clean(),
        entries: verdict.entries,
        records: verdict.records,
        count: verdict.count,
        differences: verdict
            .differences
            .into_iter()
            .map(|difference| DifferenceLine { place: difference.place, what: difference.what })
            .collect(),
        head: sentence::hex(&verdict.head),
        message,
    })
}

fn note(ask: &Ask<'_>, stamp: &Stamp, input: NoteInput) -> Result<Done, Failure> {
    let recorded = ask.record_within(stamp, |r| {
        Ok(Body::Noted(Noted {
            subject: subject_name(r, &input.subject),
            text: input.text.clone(),
        }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message: "noted".into() })
}

fn set_aside(ask: &Ask<'_>, _: Nothing) -> Result<Vec<SetAsideLine>, Failure> {
    ask.read(|r| {
        let lines = r.set_aside(false)?.into_iter().map(|aside| SetAsideLine {
            id: aside.id,
            received_at: aside.received_at,
            person: aside.person,
            device: aside.device,
            command: aside.command,
            input: aside.input,
            refusal: aside.refusal,
        });
        Ok(lines.collect())
    })
}

fn settle(ask: &Ask<'_>, stamp: &Stamp, input: SettleInput) -> Result<Done, Failure> {
    if input.settled.trim().is_empty() {
        return Err(Failure::bad_input("say what was done about the record"));
    }
    let found: bool = ask
        .store
        .write(|writer| Ok::<_, Failure>(writer.settle(&input.record, &input.settled)?))?;
    if !found {
        return Err(Failure::new(FailureKind::NotFound, "no such record was set aside"));
    }
    let body = Body::Noted(Noted {
        subject: input.record.to_string(),
        text: format!("Record {} settled: {}", input.record, input.settled),
    });
    let recorded = ask.record(stamp, body)?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message: "settled".into() })
}
