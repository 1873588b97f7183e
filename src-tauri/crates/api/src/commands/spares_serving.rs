//! Which storeroom serves which cabinets, and which one fills which.

use slotkeep_domain::place::{Cabinet, CabinetAddress, Storeroom};
use std::collections::HashMap;

/// The storerooms and what they serve.
pub(super) struct Serving {
    pub storerooms: Vec<Storeroom>,
    /// By area, the storeroom that names it.
    of_area: HashMap<String, usize>,
    area_of: HashMap<CabinetAddress, String>,
    /// The central storeroom, which serves what no other one names.
    central: Option<usize>,
}

impl Serving {
    pub fn new<'c>(
        storerooms: Vec<Storeroom>,
        cabinets: impl Iterator<Item = &'c Cabinet>,
    ) -> Self {
        let mut of_area = HashMap::new();
        for (at, storeroom) in storerooms.iter().enumerate() {
            for area in &storeroom.areas {
                of_area.entry(area.clone()).or_insert(at);
            }
        }
        let fills = |code: &str| storerooms.iter().any(|s| s.supplied_by.as_deref() == Some(code));
        let central = storerooms
            .iter()
            .position(|s| s.supplied_by.is_none() && fills(&s.code))
            .or_else(|| storerooms.iter().position(|s| s.supplied_by.is_none()));
        let area_of = cabinets.map(|c| (c.address.clone(), c.area.clone())).collect();
        Self { storerooms, of_area, area_of, central }
    }

    pub fn get(&self, code: &str) -> Option<&Storeroom> {
        self.storerooms.iter().find(|storeroom| storeroom.code == code)
    }

    pub fn area_of(&self, cabinet: &CabinetAddress) -> &str {
        self.area_of.get(cabinet).map_or("", String::as_str)
    }

    /// The central storeroom; none where there is no storeroom at all.
    pub fn central(&self) -> Option<&Storeroom> {
        self.central.map(|at| &self.storerooms[at])
    }

    /// Storerooms without areas and without one that fills them: they are places of the central
    /// one's stock, wherever pieces happen to lie.
    pub fn is_free(&self, storeroom: &Storeroom) -> bool {
        storeroom.supplied_by.is_none() && storeroom.areas.is_empty()
    }

    /// The storeroom that serves a cabinet; `home` serves what none names.
    pub fn of_cabinet<'a>(&'a self, cabinet: &CabinetAddress, home: &'a str) -> &'a str {
        let named = self.of_area.get(self.area_of(cabinet));
        named.map_or(home, |at| self.storerooms[*at].code.as_str())
    }

    /// The storeroom that covers what no other serves: of the free ones that with most of the model,
    /// the central one where none has any.
    pub fn home(&self, pieces_in: impl Fn(&str) -> u32) -> Option<&str> {
        let central = self.central()?;
        let free = self.storerooms.iter().filter(|room| self.is_free(room));
        let most = free
            .map(|room| (pieces_in(&room.code), room))
            .reduce(|best, next| if next.0 > best.0 { next } else { best });
        let home = match most {
            Some((pieces, room)) if pieces > pieces_in(&central.code) => room,
            _ => central,
        };
        Some(&home.code)
    }
}
