//! Cabinets as the rules of a line-up see them, looked up once for a whole reply.

use crate::Failure;
use slotkeep_domain::lineup::{self, Keyed, Known, describe};
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::place::{CabinetAddress, Site, SlotAddress};
use slotkeep_domain::register::View;
use slotkeep_store::Reader;
use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::Arc;

#[derive(Default)]
pub(super) struct OfCabinets {
    models: RefCell<HashMap<PartNo, Option<Arc<Model>>>>,
    cabinets: RefCell<HashMap<CabinetAddress, Option<Arc<lineup::Cabinet>>>>,
}

impl OfCabinets {
    /// A cabinet as it stands; none where the register does not know it.
    pub fn of(
        &self,
        r: &Reader<'_>,
        site: Option<&Site>,
        address: &CabinetAddress,
    ) -> Result<Option<Arc<lineup::Cabinet>>, Failure> {
        if let Some(known) = self.cabinets.borrow().get(address) {
            return Ok(known.clone());
        }
        let described = match (site, r.cabinet(address)) {
            (Some(site), Some(cabinet)) => {
                let units = r.units_in_cabinet(address)?.into_iter();
                let standing =
                    units.filter_map(|unit| Some((unit.place.slot()?.clone(), unit.model)));
                let known = Standing { r, of: self, standing: standing.collect() };
                let (rails, slots) = (r.rails_of(address)?, r.slots_of(address)?);
                let keyed = Arc::new(Keyed::new());
                Some(Arc::new(describe(site, &cabinet, &rails, &slots, keyed, &known)))
            }
            _ => None,
        };
        self.cabinets.borrow_mut().insert(address.clone(), described.clone());
        Ok(described)
    }
}

struct Standing<'a, 'r, 'c> {
    r: &'r Reader<'c>,
    of: &'a OfCabinets,
    standing: HashMap<SlotAddress, PartNo>,
}

impl Known for Standing<'_, '_, '_> {
    fn model(&self, part_no: &PartNo) -> Option<Arc<Model>> {
        let mut models = self.of.models.borrow_mut();
        let look = || self.r.model(part_no).map(Arc::new);
        models.entry(part_no.clone()).or_insert_with(look).clone()
    }

    fn standing(&self, slot: &SlotAddress) -> Option<PartNo> {
        self.standing.get(slot).cloned()
    }
}
