use super::place::label;
use super::reserved::Take;
use super::{Outcome, Refusal, known};
use crate::journal::{Entry, LotCounted, LotIssued, LotMoved, LotQuarantined, LotReceived};
use crate::label::LabelKind;
use crate::place::BinPath;
use crate::register::{Change, Issue, View};
use crate::stock::Lot;
use std::collections::BTreeMap;

pub(super) fn receive(view: &impl View, new: &LotReceived) -> Outcome {
    let model = known(view.model(&new.model), "model", &new.model)?;
    known(view.bin(&new.bin), "bin", &new.bin)?;
    if !model.counted {
        return Err(Refusal::new(
            format!("{} is kept by serial number", model.part_no),
            "register each unit instead",
        ));
    }
    if new.quantity == 0 {
        return Err(Refusal::new("0 pieces are nothing to receive", "write how many came"));
    }
    let before = view.lot(&new.label);
    label(view, new.label, LabelKind::Lot, before.is_some())?;
    let mut lot = before.unwrap_or(Lot {
        label: new.label,
        code: new.code.clone(),
        model: new.model.clone(),
        made_on: new.made_on,
        shelf_until: new.shelf_until,
        quarantined: false,
        pieces: BTreeMap::new(),
    });
    if lot.model != new.model || lot.code != new.code {
        return Err(Refusal::new(
            format!("label {} is lot {} of {}", lot.label.human(), lot.code, lot.model),
            "use a new label for another lot",
        ));
    }
    let pieces = lot.pieces.entry(new.bin.clone()).or_default();
    *pieces = pieces.checked_add(new.quantity).ok_or_else(|| {
        Refusal::new(format!("{} pieces are too many", new.quantity), "write how many came")
    })?;
    let mut changes = vec![Change::Lot(lot)];
    if let Some(order) = &new.order {
        changes.push(super::order::received(view, order, &new.model, new.quantity)?);
    }
    Ok(changes)
}

/// The lot after pieces were taken from a bin; stock is never negative.
pub(super) fn taken(lot: &Lot, bin: &BinPath, quantity: u32) -> Result<Lot, Refusal> {
    let there = lot.pieces.get(bin).copied().unwrap_or(0);
    if quantity == 0 {
        return Err(Refusal::new("0 pieces are nothing to take", "write how many"));
    }
    if lot.quarantined {
        return Err(Refusal::new(
            format!("lot {} is in quarantine", lot.label.human()),
            "take another lot, or lift the quarantine first",
        ));
    }
    if quantity > there {
        return Err(Refusal::new(
            format!(
                "lot {} has {} in {bin}, {} wanted",
                lot.label.human(),
                crate::counted(there, "piece"),
                crate::counted_as(quantity, "is", "are")
            ),
            "take fewer, take them from another bin, or count the bin again",
        ));
    }
    let mut after = lot.clone();
    put(&mut after, bin, there - quantity);
    Ok(after)
}

pub(super) fn put(lot: &mut Lot, bin: &BinPath, quantity: u32) {
    if quantity == 0 {
        lot.pieces.remove(bin);
    } else {
        lot.pieces.insert(bin.clone(), quantity);
    }
}

pub(super) fn issue(view: &impl View, entry: &Entry, issued: &LotIssued) -> Outcome {
    let today = entry.at.date_naive();
    let lot = known(view.lot(&issued.lot), "lot", issued.lot.human())?;
    if issued.scrapped {
        let quarantine_lifted = Lot { quarantined: false, ..lot.clone() };
        let mut after = taken(&quarantine_lifted, &issued.bin, issued.quantity)?;
        after.quarantined = lot.quarantined;
        return Ok(vec![Change::Lot(after)]);
    }
    if lot.expired_on(today) {
        return Err(Refusal::new(
            format!("lot {} passed its shelf date", lot.label.human()),
            "hand out a fresh lot and scrap this one",
        ));
    }
    if let Some(purpose) = &issued.purpose {
        super::reserved::purpose(view, purpose)?;
    }
    let after = taken(&lot, &issued.bin, issued.quantity)?;
    let storeroom = issued.bin.storeroom();
    let take = Take { model: &lot.model, storeroom, unit: None, pieces: issued.quantity };
    let kept = super::reserved::take(view, entry, &take, issued.reservation)?;
    let issue = Change::Issue(Issue {
        id: entry.id,
        at: entry.at,
        model: lot.model.clone(),
        storeroom: Some(storeroom.to_owned()),
        pieces: issued.quantity,
    });
    Ok([Change::Lot(after), issue].into_iter().chain(kept).collect())
}

pub(super) fn count(view: &impl View, counted: &LotCounted) -> Outcome {
    let mut lot = known(view.lot(&counted.lot), "lot", counted.lot.human())?;
    known(view.bin(&counted.bin), "bin", &counted.bin)?;
    put(&mut lot, &counted.bin, counted.quantity);
    Ok(vec![Change::Lot(lot)])
}

pub(super) fn relocate(view: &impl View, entry: &Entry, moved: &LotMoved) -> Outcome {
    let lot = known(view.lot(&moved.lot), "lot", moved.lot.human())?;
    known(view.bin(&moved.to), "bin", &moved.to)?;
    if moved.from == moved.to {
        return Err(Refusal::new(
            format!("the lot already lies in {}", moved.to),
            "name the bin it goes to",
        ));
    }
    let free = Lot { quarantined: false, ..lot.clone() };
    let mut after = taken(&free, &moved.from, moved.quantity)?;
    let storeroom = moved.from.storeroom();
    if storeroom != moved.to.storeroom() && lot.usable_on(entry.at.date_naive()) > 0 {
        let take = Take { model: &lot.model, storeroom, unit: None, pieces: moved.quantity };
        super::reserved::take(view, entry, &take, None)?;
    }
    after.quarantined = lot.quarantined;
    let there = after.pieces.get(&moved.to).copied().unwrap_or(0);
    put(&mut after, &moved.to, there.saturating_add(moved.quantity));
    Ok(vec![Change::Lot(after)])
}

pub(super) fn quarantine(view: &impl View, wanted: &LotQuarantined) -> Outcome {
    let mut lot = known(view.lot(&wanted.lot), "lot", wanted.lot.human())?;
    if wanted.reason.trim().is_empty() {
        return Err(Refusal::new(
            format!("no reason is given for lot {}", lot.label.human()),
            "say why, so that the next person can judge",
        ));
    }
    lot.quarantined = wanted.quarantined;
    Ok(vec![Change::Lot(lot)])
}
