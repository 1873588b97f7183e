//! What a maker's plate says of the thing that carries it: proposals for a person to accept.

use super::lines::Catalogue;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::model::{PlateLabel, PlateProposal, PlateReading, ProposeInput, UnreadCode};
use slotkeep_domain::label::{LabelCode, LabelKind};
use slotkeep_domain::model::{Form, Model, PartNo, Proposal, propose};
use slotkeep_domain::register::View;
use slotkeep_optics::{KnownLabels, Limits, PATIENCE, Verdict, read_photo};
use slotkeep_store::Reader;
use std::collections::BTreeSet;

/// The most codes that are looked at together; a plate has a few.
const MOST_CODES: usize = 100;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask(
            "model.propose",
            "Proposes model and serial number from the codes of a maker's plate.",
            propose_from,
        ),
        table::look(
            "model.read_plate",
            "Reads a maker's plate in a photo and proposes model and serial number.",
            read_plate,
        ),
    ]
}

fn propose_from(ask: &Ask<'_>, input: ProposeInput) -> Result<PlateReading, Failure> {
    if input.texts.len() > MOST_CODES {
        return Err(Failure::bad_input(format!(
            "{} codes were sent, at most {MOST_CODES} are looked at together: send those of one \
             plate",
            input.texts.len()
        )));
    }
    reading(ask, input.texts)
}

fn read_plate(ask: &Ask<'_>, bytes: &[u8]) -> Result<PlateReading, Failure> {
    let photo = read_photo(bytes, &Limits::default(), &KnownLabels::default(), PATIENCE)
        .map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    let damaged = photo.found.iter().filter(|found| found.verdict == Verdict::Damaged).count();
    let read = photo.found.into_iter().filter(|found| !found.text.is_empty());
    let mut read = reading(ask, read.map(|found| found.text).take(MOST_CODES).collect())?;
    if damaged > 0 && read.proposals.is_empty() {
        read.message = format!("{}; a symbol could not be read: go closer", read.message);
    }
    Ok(read)
}

fn reading(ask: &Ask<'_>, texts: Vec<String>) -> Result<PlateReading, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let (labels, codes): (Vec<_>, Vec<_>) =
            texts.iter().cloned().partition(|text| LabelCode::parse_scan(text).is_ok());
        let models = r.models()?;
        let proposals = propose(&codes, &models, today);
        let used: BTreeSet<usize> = proposals.iter().flat_map(|p| p.texts.clone()).collect();
        let unread: Vec<UnreadCode> = codes
            .iter()
            .enumerate()
            .filter(|(at, _)| !used.contains(at))
            .map(|(_, text)| unread(text, &models))
            .collect();
        let proposals: Vec<PlateProposal> =
            proposals.iter().map(|proposal| line(r, proposal, &codes)).collect();
        Ok(PlateReading {
            message: summary(&proposals, &unread, texts.is_empty()),
            labels: labels.iter().filter_map(|text| label(r, text)).collect(),
            proposals,
            unread,
        })
    })
}

fn summary(proposals: &[PlateProposal], unread: &[UnreadCode], nothing: bool) -> String {
    match proposals {
        [] if nothing => {
            "no code was found: go closer, hold still, avoid glare, or type what the plate says"
        }
        [] if unread.is_empty() => "this is a label of ours, not a maker's plate",
        [] => "no form in the catalogue fits these codes: type what the plate says",
        [one] if one.already.is_some() => {
            return format!("{}; check the plate before going on", one.message);
        }
        [_] => "compare this with the plate, then accept or correct it",
        _ => "several things fit: choose the one that agrees with the plate",
    }
    .to_owned()
}

fn line(r: &Reader<'_>, proposal: &Proposal, codes: &[String]) -> PlateProposal {
    let model = proposal.model.as_ref().and_then(|part_no| r.model(part_no));
    let plate = &proposal.plate;
    let known = match (&proposal.model, &plate.serial) {
        (Some(model), Some(serial)) => r.unit_with(model, serial),
        _ => None,
    };
    let message = match (&known, &proposal.model) {
        (Some(label), _) => already(r, label),
        (None, Some(_)) => understood(&proposal.by),
        (None, None) => match &plate.part {
            Some(part) => format!(
                "the catalogue has no model that is called {part:?}: choose the model, or add \
                 this to its maker_codes"
            ),
            None => "the code does not say which model this is: choose it".to_owned(),
        },
    };
    PlateProposal {
        model: proposal.model.as_ref().map(PartNo::to_string),
        model_title: model.as_ref().map(|model| model.title.clone()),
        counted: model.as_ref().is_some_and(|model| model.counted),
        part: plate.part.clone(),
        serial: plate.serial.clone(),
        revision: plate.revision.clone(),
        unlisted_revision: unlisted(model.as_ref(), plate.revision.as_deref()),
        lot: plate.lot.clone(),
        made_on: plate.made_on,
        codes: proposal.texts.iter().filter_map(|at| codes.get(*at).cloned()).collect(),
        already: known.map(|label| label.to_string()),
        message,
    }
}

/// Whether a revision was read that the catalogue does not list for the model.
fn unlisted(model: Option<&Model>, revision: Option<&str>) -> bool {
    match (model, revision) {
        (Some(model), Some(revision)) => {
            !model.revisions.is_empty() && model.revision_rank(revision).is_none()
        }
        _ => false,
    }
}

fn already(r: &Reader<'_>, label: &LabelCode) -> String {
    let place = r.unit(label).map(|unit| Catalogue::new(r).unit(&unit).place).unwrap_or_default();
    format!("this unit is in the register already, as {} in {place}", label.human())
}

fn understood(by: &[Form]) -> String {
    let forms: Vec<String> = by
        .iter()
        .map(|form| match form {
            Form::Gs1 => "GS1 element strings".to_owned(),
            Form::DataIdentifiers => "data identifiers (ISO/IEC 15434)".to_owned(),
            Form::Pattern(model) => format!("the form in the catalogue line of {model}"),
        })
        .collect();
    format!("understood by {}", forms.join(" and "))
}

fn unread(text: &str, models: &[Model]) -> UnreadCode {
    let patterns: usize = models.iter().map(|model| model.code_patterns.len()).sum();
    UnreadCode {
        text: text.chars().take(200).collect(),
        message: if patterns == 0 {
            "it follows no open form, and the catalogue has no code_patterns".to_owned()
        } else {
            format!("it follows no open form and none of the {patterns} code_patterns")
        },
    }
}

/// A label of ours that is on the thing already.
fn label(r: &Reader<'_>, text: &str) -> Option<PlateLabel> {
    let label = LabelCode::parse_scan(text).ok()?;
    let holder = r.labelled(&label);
    let own = r.site().is_some_and(|site| site.prefix == label.prefix());
    let kind = matches!(label.kind(), LabelKind::Unit | LabelKind::Lot);
    let message = match (&holder, own, kind) {
        (Some(holder), ..) => format!("label {} is on {holder} already", label.human()),
        (None, false, _) => format!("label {} is of another site", label.human()),
        (None, _, false) => {
            format!("label {} is for a {}", label.human(), label.kind().word())
        }
        _ => format!("label {} is free and will be used", label.human()),
    };
    Some(PlateLabel {
        label: label.to_string(),
        label_human: label.human(),
        free: holder.is_none() && own && kind,
        message,
    })
}
