//! What the catalogue says that ties models to one another.

use super::spares_stand_in::{bought_for, named};
use chrono::NaiveDate;
use slotkeep_domain::model::Model;
use std::collections::{BTreeMap, HashMap};

/// Models by the model that they have to do with.
#[derive(Default)]
pub(super) struct Ties {
    takers: HashMap<String, Vec<String>>,
    taken_over: HashMap<String, Vec<String>>,
    bought_instead: HashMap<String, String>,
    named_by: HashMap<String, Vec<String>>,
}

impl Ties {
    pub fn of(models: &BTreeMap<String, Model>, today: NaiveDate) -> Self {
        let mut ties = Self::default();
        let note = |of: &mut HashMap<String, Vec<String>>, to: &str, model: &Model| {
            of.entry(to.to_owned()).or_default().push(model.part_no.to_string());
        };
        for model in models.values() {
            if let Some(battery) = &model.battery {
                note(&mut ties.takers, battery.model.as_str(), model);
            }
            for (stand_in, _) in named(models, model) {
                note(&mut ties.named_by, stand_in.part_no.as_str(), model);
            }
            if let Some(bought) = bought_for(models, model, today)
                && bought.part_no != model.part_no
            {
                note(&mut ties.taken_over, bought.part_no.as_str(), model);
                let (gone, by) = (model.part_no.to_string(), bought.part_no.to_string());
                ties.bought_instead.insert(gone, by);
            }
        }
        ties
    }

    /// Models whose units take this one as their cell.
    pub fn takers(&self, model: &str) -> &[String] {
        all(&self.takers, model)
    }

    /// Models that are no longer sold and in whose place this one is bought.
    pub fn taken_over(&self, model: &str) -> &[String] {
        all(&self.taken_over, model)
    }

    /// What is bought in the place of a model that is no longer sold.
    pub fn bought_instead(&self, model: &str) -> Option<&str> {
        self.bought_instead.get(model).map(String::as_str)
    }

    /// Models that name this one as a stand-in.
    pub fn named_by(&self, model: &str) -> &[String] {
        all(&self.named_by, model)
    }
}

fn all<'t>(of: &'t HashMap<String, Vec<String>>, model: &str) -> &'t [String] {
    of.get(model).map_or(&[], Vec::as_slice)
}
