use super::lines::Catalogue;
use super::{find, stocktake_why, unit};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::stock::{
    BinInput, BinShelf, CountInput, LotInput, LotLine, MoveLotInput, QuarantineInput, ReceiveInput,
    Received, ScrapInput, Shelf, ShelfInput, StoreroomShelf,
};
use chrono::NaiveDate;
use slotkeep_domain::journal::{
    Body, LotCounted, LotIssued, LotMoved, LotQuarantined, LotReceived,
};
use slotkeep_domain::label::LabelKind;
use slotkeep_domain::place::Bin;
use slotkeep_domain::register::View;
use slotkeep_domain::stock::{Lot, Order};
use slotkeep_domain::{counted, counted_as};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("stock.shelf", "Lists bins with the units and lots that lie in them.", shelf),
        table::ask("stock.bin", "Shows one bin.", bin),
        table::ask("stock.lot", "Shows one lot.", lot),
        table::record("stock.receive", "Takes counted pieces in.", table::STORES, receive),
        table::record("stock.scrap", "Scraps counted pieces.", table::STORES, scrap),
        table::record("stock.count", "Records how many pieces lie in a bin.", table::STORES, count),
        table::record("stock.move", "Moves pieces to another bin.", table::STORES, relocate),
        table::record(
            "stock.quarantine",
            "Puts a lot in quarantine, or lifts it.",
            table::STORES,
            quarantine,
        ),
    ]
}

fn shelf(ask: &Ask<'_>, input: ShelfInput) -> Result<Shelf, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let catalogue = Catalogue::new(r);
        let lots = r.lots()?;
        let bins = r.bins()?;
        let mut storerooms = Vec::new();
        for storeroom in r.storerooms()? {
            if input.storeroom.as_ref().is_some_and(|wanted| *wanted != storeroom.code) {
                continue;
            }
            let own = bins.iter().filter(|bin| bin.path.storeroom() == storeroom.code);
            let shelves = own.map(|bin| contents(r, &catalogue, bin, &lots, today));
            storerooms.push(StoreroomShelf {
                bins: shelves.collect::<Result<_, _>>()?,
                code: storeroom.code,
                title: storeroom.title,
            });
        }
        let mut elsewhere = Vec::new();
        for place in ["bench", "repair", "lost"] {
            elsewhere.extend(r.units_at(place)?.iter().map(|unit| catalogue.unit(unit)));
        }
        Ok(Shelf { storerooms, elsewhere })
    })
}

fn contents(
    r: &Reader<'_>,
    catalogue: &Catalogue<'_, '_>,
    bin: &Bin,
    lots: &[Lot],
    today: NaiveDate,
) -> Result<BinShelf, Failure> {
    let here = lots.iter().filter_map(|lot| {
        let pieces = *lot.pieces.get(&bin.path)?;
        Some(LotLine { pieces, ..catalogue.lot(lot, today) })
    });
    Ok(BinShelf {
        path: bin.path.to_string(),
        label: bin.label.to_string(),
        label_human: bin.label.human(),
        title: bin.title.clone(),
        counted_at: stocktake_why::counted_at(r, bin.path.as_str())?,
        units: r.units_at(bin.path.as_str())?.iter().map(|unit| catalogue.unit(unit)).collect(),
        lots: here.collect(),
    })
}

fn bin(ask: &Ask<'_>, input: BinInput) -> Result<BinShelf, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let bin = find::bin(r, &input.bin)?;
        let lots = r.lots_in(&bin.path)?;
        contents(r, &Catalogue::new(r), &bin, &lots, today)
    })
}

fn lot(ask: &Ask<'_>, input: LotInput) -> Result<LotLine, Failure> {
    let today = ask.today();
    ask.read(|r| Ok(Catalogue::new(r).lot(&find::lot(r, &input.lot)?, today)))
}

fn receive(ask: &Ask<'_>, stamp: &Stamp, input: ReceiveInput) -> Result<Received, Failure> {
    let mut label = None;
    let mut more = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let model = find::model(r, &input.model)?;
        if let Some(order) = input.order.and_then(|id| r.order(&id)) {
            more = against(&order, &input)?;
        }
        let same =
            r.lots_with_code(&input.code)?.into_iter().find(|lot| lot.model == model.part_no);
        let new = match same {
            Some(lot) if input.label.is_none() => lot.label,
            _ => find::new_label(r, LabelKind::Lot, &stamp.id, input.label.as_deref())?,
        };
        label = Some(new);
        let reckoned = input.made_on.zip(model.shelf_life()).map(|(made_on, years)| {
            made_on + chrono::Duration::days((years * 365.25).round() as i64)
        });
        Ok(Body::LotReceived(LotReceived {
            label: new,
            code: input.code.clone(),
            model: model.part_no,
            bin: find::bin(r, &input.bin)?.path,
            quantity: input.quantity,
            made_on: input.made_on,
            shelf_until: input.shelf_until.or(reckoned),
            order: input.order,
        }))
    })?;
    let label = match label {
        Some(label) => label,
        None => ask.read(|r| unit::label_of_entry(r, stamp))?,
    };
    let (pieces, model) = (counted(input.quantity, "piece"), &input.model);
    let message = format!("{pieces} of {model} received as lot {}{more}", label.human());
    Ok(Received {
        label: label.to_string(),
        label_human: label.human(),
        done: Done { entry: stamp.id, repeated: recorded.repeated, message },
    })
}

/// What a receipt leaves of its order. Pieces beyond it are taken in only where a person says so;
/// pieces that are missing stay on order.
fn against(order: &Order, input: &ReceiveInput) -> Result<String, Failure> {
    let outstanding = order.outstanding();
    if input.quantity > outstanding && !order.closed && !input.accept_over {
        return Err(Failure::refused(format!(
            "{} of {} came, {} still to come on the order: send the rest back and record \
             {outstanding}, or accept the rest too",
            counted(input.quantity, "piece"),
            order.model,
            counted_as(outstanding, "is", "are")
        )));
    }
    Ok(match outstanding.checked_sub(input.quantity) {
        Some(0) => "; the order is complete".to_owned(),
        Some(left) => format!("; {} to come on the order", counted_as(left, "more is", "more are")),
        None => format!("; {} more than ordered", input.quantity - outstanding),
    })
}

/// Records what happens to a lot, and says afterwards how many pieces are left.
pub(super) fn on_lot(
    ask: &Ask<'_>,
    stamp: &Stamp,
    text: &str,
    body: impl FnOnce(&Reader<'_>, &Lot) -> Result<Body, Failure>,
) -> Result<Done, Failure> {
    let recorded = ask.record_within(stamp, |r| body(r, &find::lot(r, text)?))?;
    let message = ask.read(|r| {
        let lot = find::lot(r, text)?;
        let bins: Vec<_> =
            lot.pieces.iter().map(|(bin, pieces)| format!("{pieces} in {bin}")).collect();
        let left = if bins.is_empty() { "nothing".to_owned() } else { bins.join(", ") };
        Ok(format!("lot {} of {}: {left} left", lot.code, lot.model))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn scrap(ask: &Ask<'_>, stamp: &Stamp, input: ScrapInput) -> Result<Done, Failure> {
    on_lot(ask, stamp, &input.lot, |r, lot| {
        Ok(Body::LotIssued(LotIssued {
            lot: lot.label,
            bin: find::bin_of(r, lot, input.bin.as_deref())?,
            quantity: input.quantity,
            to: input.reason.clone(),
            scrapped: true,
            purpose: None,
            reservation: None,
        }))
    })
}

fn count(ask: &Ask<'_>, stamp: &Stamp, input: CountInput) -> Result<Done, Failure> {
    on_lot(ask, stamp, &input.lot, |r, lot| {
        Ok(Body::LotCounted(LotCounted {
            lot: lot.label,
            bin: find::bin_of(r, lot, input.bin.as_deref())?,
            quantity: input.quantity,
            note: input.note.clone(),
        }))
    })
}

fn relocate(ask: &Ask<'_>, stamp: &Stamp, input: MoveLotInput) -> Result<Done, Failure> {
    on_lot(ask, stamp, &input.lot, |r, lot| {
        Ok(Body::LotMoved(LotMoved {
            lot: lot.label,
            from: find::bin_of(r, lot, input.from.as_deref())?,
            to: find::bin(r, &input.to)?.path,
            quantity: input.quantity,
        }))
    })
}

fn quarantine(ask: &Ask<'_>, stamp: &Stamp, input: QuarantineInput) -> Result<Done, Failure> {
    on_lot(ask, stamp, &input.lot, |_, lot| {
        Ok(Body::LotQuarantined(LotQuarantined {
            lot: lot.label,
            quarantined: input.quarantined,
            reason: input.reason.clone(),
        }))
    })
}
