//! What lies on the shelves as rows of a spreadsheet.

use super::spares_facts::Facts;
use super::spares_sheet::column;
use crate::Failure;
use crate::sheet::{Cell, Form, Sheet};
use slotkeep_store::Reader;

/// Every lot and unit that lies in a bin.
pub(super) fn stock(
    r: &Reader<'_>,
    facts: &Facts,
    storeroom: Option<&str>,
) -> Result<Sheet, Failure> {
    let columns = vec![
        column("Storeroom", 11.0, Form::Text),
        column("Bin", 12.0, Form::Text),
        column("Label", 14.0, Form::Text),
        column("Model", 14.0, Form::Text),
        column("Title", 34.0, Form::Text),
        column("Serial number or lot", 18.0, Form::Text),
        column("Pieces", 8.0, Form::Count),
        column("Condition", 12.0, Form::Text),
        column("Made", 12.0, Form::Day),
        column("Shelf date", 12.0, Form::Day),
        column("Price (whole money)", 12.0, Form::Money),
        column("Value (whole money)", 12.0, Form::Money),
    ];
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    let wanted = |room: &str| storeroom.is_none_or(|wanted| wanted.trim() == room);
    let price = |model: &str| facts.models.get(model).and_then(|model| model.price_cents);
    let title = |model: &str| facts.models.get(model).map_or("", |model| model.title.as_str());
    for room in facts.serving.storerooms.iter().filter(|room| wanted(&room.code)) {
        for unit in r.units_in_storeroom(&room.code)? {
            let model = unit.model.as_str();
            rows.push(vec![
                (&room.code).into(),
                (&unit.place.to_string()).into(),
                (&unit.label.human()).into(),
                model.into(),
                title(model).into(),
                (&unit.serial).into(),
                1u32.into(),
                unit.condition.word().into(),
                Cell::Nothing,
                Cell::Nothing,
                price(model).into(),
                price(model).into(),
            ]);
        }
    }
    for lot in r.lots()? {
        let model = lot.model.as_str();
        let condition = match (lot.quarantined, lot.expired_on(facts.today)) {
            (true, _) => "quarantined",
            (_, true) => "expired",
            _ => "good",
        };
        for (bin, pieces) in lot.pieces.iter().filter(|(bin, _)| wanted(bin.storeroom())) {
            rows.push(vec![
                bin.storeroom().into(),
                bin.as_str().into(),
                (&lot.label.human()).into(),
                model.into(),
                title(model).into(),
                (&lot.code).into(),
                (*pieces).into(),
                condition.into(),
                lot.made_on.into(),
                lot.shelf_until.into(),
                price(model).into(),
                price(model).map(|price| price * i64::from(*pieces)).into(),
            ]);
        }
    }
    Ok(Sheet { title: "Stock".to_owned(), columns, rows })
}
