//! Makers' plates: what the codes beside a serial number say.
//!
//! A plate carries one code or several (Code 128, Data Matrix, QR). Their texts follow an open
//! standard, or a form of the maker's own that the catalogue describes by a pattern.

mod elements;
mod pattern;
#[cfg(test)]
mod tests;

pub use pattern::{CodePattern, PatternRefusal};

use super::{Model, PartNo};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What one code of a plate says, as it is written there.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Plate {
    /// Part number, order number or trade item number in the maker's writing.
    pub part: Option<String>,
    pub serial: Option<String>,
    pub revision: Option<String>,
    /// Batch or lot.
    pub lot: Option<String>,
    pub made_on: Option<NaiveDate>,
}

/// What the codes of a plate make of the thing that carries it, for a person to accept or edit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proposal {
    pub model: Option<PartNo>,
    pub plate: Plate,
    pub by: Vec<Form>,
    /// Which of the texts it was read from, counted from 0.
    pub texts: Vec<usize>,
}

/// The form in which a code was understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Form {
    /// Element strings with application identifiers. Source: GS1 General Specifications.
    Gs1,
    /// Data identifiers in the envelope of format 06. Source: ISO/IEC 15434.
    DataIdentifiers,
    /// A pattern in the catalogue line of this model.
    Pattern(PartNo),
}

/// Proposes what carries a plate, from the texts of its codes.
///
/// Every way to understand a text is kept: two patterns that read it differently give two
/// proposals. A code with the part alone and one with the serial number alone make one proposal
/// where each is the only one of its kind.
pub fn propose(texts: &[String], models: &[Model], today: NaiveDate) -> Vec<Proposal> {
    let catalogue = Catalogue::new(models);
    let mut proposals: Vec<Proposal> = Vec::new();
    for (at, text) in texts.iter().enumerate() {
        for (form, own, plate) in catalogue.read(text, today) {
            let named = plate.part.as_deref().and_then(|part| catalogue.model(part));
            let model = own.or(named).cloned();
            add(&mut proposals, Proposal { model, plate, by: vec![form], texts: vec![at] });
        }
    }
    join_halves(&mut proposals);
    proposals
}

/// Adds a proposal, or completes the one that says the same.
fn add(proposals: &mut Vec<Proposal>, new: Proposal) {
    let number = |plate: &Plate| (plate.serial.clone(), plate.lot.clone());
    let same = proposals.iter_mut().find(|old| {
        let whole = new.plate.serial.is_some() || new.plate.lot.is_some();
        whole && old.model == new.model && number(&old.plate) == number(&new.plate)
    });
    match same {
        Some(old) => complete(old, new),
        None => proposals.push(new),
    }
}

fn complete(old: &mut Proposal, new: Proposal) {
    old.model = old.model.take().or(new.model);
    let (into, from) = (&mut old.plate, new.plate);
    into.part = into.part.take().or(from.part);
    into.serial = into.serial.take().or(from.serial);
    into.revision = into.revision.take().or(from.revision);
    into.lot = into.lot.take().or(from.lot);
    into.made_on = into.made_on.or(from.made_on);
    for form in new.by {
        if !old.by.contains(&form) {
            old.by.push(form);
        }
    }
    old.texts.extend(new.texts.iter().filter(|at| !old.texts.contains(at)).collect::<Vec<_>>());
}

/// Joins the one code that names the part with the one that holds the serial number.
fn join_halves(proposals: &mut Vec<Proposal>) {
    let named = |p: &Proposal| p.model.is_some() || p.plate.part.is_some();
    let numbered = |p: &Proposal| p.plate.serial.is_some() || p.plate.lot.is_some();
    let only = |wanted: &dyn Fn(&Proposal) -> bool| {
        let mut all = proposals.iter().enumerate().filter(|(_, p)| wanted(p)).map(|(at, _)| at);
        all.next().filter(|_| all.next().is_none())
    };
    let part = only(&|p| named(p) && !numbered(p));
    let serial = only(&|p| !named(p) && numbered(p));
    let whole = only(&|p| named(p) && numbered(p));
    match (part, serial) {
        (Some(part), Some(serial)) if whole.is_none() => {
            let half = proposals.remove(serial);
            let at = if serial < part { part - 1 } else { part };
            if let Some(into) = proposals.get_mut(at) {
                complete(into, half);
            }
        }
        _ => {}
    }
    let any_whole = proposals.iter().any(|p| named(p) && numbered(p));
    proposals.retain(|p| !any_whole || (named(p) && numbered(p)));
}

/// The models with their patterns made ready and their names in makers' writing.
struct Catalogue<'m> {
    /// None where two models go by one name.
    names: BTreeMap<String, Option<&'m PartNo>>,
    patterns: Vec<(&'m PartNo, pattern::Ready)>,
}

impl<'m> Catalogue<'m> {
    fn new(models: &'m [Model]) -> Self {
        let mut names: BTreeMap<String, Option<&PartNo>> = BTreeMap::new();
        let mut patterns: BTreeMap<(&str, Option<&str>), _> = BTreeMap::new();
        for model in models {
            let own = std::iter::once(model.part_no.as_str());
            for name in own.chain(model.maker_codes.iter().map(String::as_str)) {
                let known = names.entry(plain(name)).or_insert(Some(&model.part_no));
                *known = known.filter(|part_no| **part_no == model.part_no);
            }
            for pattern in &model.code_patterns {
                let Some(ready) = pattern.ready() else { continue };
                // A form that names the part is the same whichever model's line it stands in.
                let of = (!ready.names_part()).then_some(model.part_no.as_str());
                patterns.entry((pattern.as_str(), of)).or_insert((&model.part_no, ready));
            }
        }
        Self { names, patterns: patterns.into_values().collect() }
    }

    fn model(&self, part: &str) -> Option<&'m PartNo> {
        self.names.get(&plain(part)).copied().flatten()
    }

    /// Every way to understand a text: the form, the model where the form is of one alone, and
    /// what it says.
    fn read(&self, text: &str, today: NaiveDate) -> Vec<(Form, Option<&'m PartNo>, Plate)> {
        let text = text.trim_matches([' ', '\r', '\n', '\t']);
        if let Some(plate) = elements::data_identifiers(text) {
            return vec![(Form::DataIdentifiers, None, plate)];
        }
        let own = self.patterns.iter().filter_map(|(part_no, ready)| {
            let plate = ready.read(text)?;
            // A form that names the part does not fit where the catalogue has no such part.
            let model = match ready.names_part() {
                true => self.model(plate.part.as_deref()?)?,
                false => *part_no,
            };
            Some((Form::Pattern((*part_no).clone()), Some(model), plate))
        });
        let own: Vec<_> = own.collect();
        if !own.is_empty() {
            return own;
        }
        let gs1 = elements::gs1(text, today);
        gs1.map(|plate| (Form::Gs1, None, plate)).into_iter().collect()
    }
}

/// A part number without what makers set differently: case, spaces, dashes, dots, leading zeros.
fn plain(part: &str) -> String {
    let bare: String = part.chars().filter(|c| c.is_alphanumeric()).collect();
    let upper = bare.to_uppercase();
    let digits = upper.chars().all(|c| c.is_ascii_digit());
    // A trade item number of 8, 12 or 13 digits is written with 14 in element strings.
    if digits { upper.trim_start_matches('0').to_owned() } else { upper }
}
