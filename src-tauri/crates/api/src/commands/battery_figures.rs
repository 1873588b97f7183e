//! What the sums of back-up batteries are made from: catalogue, cabinet, power-offs, readings.

use super::find;
use super::lines::Catalogue;
use crate::Failure;
use crate::wire::battery_plan::UnknownBattery;
use chrono::{DateTime, Days, NaiveDate, NaiveTime, TimeDelta, Utc};
use slotkeep_domain::battery::{
    Battery, Cell, Climate, Course, Drain, Fitted, HeatLaw, HeatRefusal, Limits, Off, Pace,
    Reading, Spread, due_days,
};
use slotkeep_domain::journal::PowerOff;
use slotkeep_domain::model::{self, BatteryNeed, ChangeWith, Model};
use slotkeep_domain::place::{Cabinet, CabinetAddress, Site, TemperatureReading};
use slotkeep_domain::register::View;
use slotkeep_domain::unit::Unit;
use slotkeep_store::Reader;
use std::collections::HashMap;

/// Days that a battery lies on the shelf before it is fitted, where one is only planned (common
/// practice, no source: half a year).
const SHELF_D: u64 = 182;

/// Years after which what happened is taken to happen again.
const AGAIN_Y: i64 = 5;

/// What batteries live in: the site, its cabinets, stretches without power, temperatures read.
pub(super) struct Surroundings {
    pub site: Site,
    cabinets: HashMap<CabinetAddress, Cabinet>,
    /// Recorded ones, and planned ones that are not settled.
    power_offs: Vec<PowerOff>,
    readings: HashMap<CabinetAddress, Vec<Reading>>,
}

/// The figures of one battery.
#[derive(Debug, Clone)]
pub(super) struct Figures {
    cell: Cell,
    drain: Drain,
    climate: Climate,
    fitted: Fitted,
    offs: Vec<Off>,
    spread: Spread,
    pub limits: Limits,
    /// Where the temperature is from: `logged`, `monthly`, `yearly`, `site` or `shelf`.
    pub climate_from: &'static str,
}

/// A battery in a slot of which everything is known that a plan needs.
pub(super) struct Known {
    pub unit: Unit,
    pub need: BatteryNeed,
    pub cabinet: Cabinet,
    pub due_on: NaiveDate,
    /// Days from fitting the next one until that one is due.
    pub life_d: u32,
    pub lead_time_d: Option<u32>,
    pub price_cents: Option<i64>,
    pub figures: Figures,
}

impl Figures {
    pub fn battery(&self) -> Battery<'_> {
        Battery {
            cell: self.cell,
            drain: self.drain,
            climate: self.climate,
            fitted: self.fitted,
            power_offs: &self.offs,
            spread: self.spread,
        }
    }

    /// The figures of the battery that would be fitted today in its place. The power-offs of the
    /// last years are taken to happen again.
    pub fn next(&self, today: NaiveDate) -> Self {
        let since = today - Days::new(AGAIN_Y as u64 * 365);
        let recent = self.offs.iter().filter(|off| (since..today).contains(&off.from.date_naive()));
        let again = |times: i64| {
            let later = TimeDelta::days(365 * AGAIN_Y * times);
            recent.clone().map(move |off| Off { from: off.from + later, to: off.to + later })
        };
        let offs = (1..=4).flat_map(again).collect();
        let made_on = Some(today - Days::new(SHELF_D));
        Self { fitted: Fitted { made_on, fitted_on: today }, offs, ..self.clone() }
    }

    pub fn fitted_on(&self) -> NaiveDate {
        self.fitted.fitted_on
    }

    pub fn course(&self) -> Course {
        Course::of(&self.battery())
    }
}

impl Known {
    /// Chances that the charge at the beginning of a day does not cover what the site asks for.
    pub fn uncovered(&self) -> impl Fn(NaiveDate) -> f64 {
        let (course, hold_up_h) = (self.figures.course(), self.figures.limits.hold_up_required_h);
        move |on| course.chance_uncovered(on.and_time(NaiveTime::MIN).and_utc(), hold_up_h)
    }
}

impl Surroundings {
    pub fn of(r: &Reader<'_>) -> Result<Self, Failure> {
        Self::with(r, r.cabinets()?, r.temperatures()?)
    }

    /// What one cabinet needs, or a place without one.
    pub fn around(r: &Reader<'_>, cabinet: Option<Cabinet>) -> Result<Self, Failure> {
        let read = cabinet.as_ref().map(|cabinet| r.temperatures_of(&cabinet.address));
        let temperatures = read.transpose()?.unwrap_or_default();
        Self::with(r, cabinet.into_iter().collect(), temperatures)
    }

    fn with(
        r: &Reader<'_>,
        cabinets: Vec<Cabinet>,
        temperatures: Vec<TemperatureReading>,
    ) -> Result<Self, Failure> {
        let mut power_offs: Vec<PowerOff> = r.power_offs()?.into_iter().map(|(_, o)| o).collect();
        let planned = r.planned_offs()?.into_iter().filter(|planned| planned.settled.is_none());
        power_offs.extend(planned.map(|planned| planned.off));
        let mut readings: HashMap<CabinetAddress, Vec<Reading>> = HashMap::new();
        for reading in temperatures {
            let of_cabinet = readings.entry(reading.cabinet).or_default();
            of_cabinet.push(Reading { at: reading.at, temperature_c: reading.temperature_c });
        }
        let cabinets = cabinets.into_iter().map(|c| (c.address.clone(), c)).collect();
        let site = r.site().ok_or_else(find::empty)?;
        Ok(Self { site, cabinets, power_offs, readings })
    }

    pub fn cabinet_of(&self, unit: &Unit) -> Option<&Cabinet> {
        self.cabinets.get(&unit.place.slot()?.cabinet())
    }

    /// The figures of the battery in a unit, or what is missing, in a sentence.
    pub fn figures(
        &self,
        catalogue: &Catalogue<'_, '_>,
        unit: &Unit,
        model: &Model,
        today: NaiveDate,
    ) -> Result<Figures, String> {
        let Some(need) = &model.battery else {
            return Err(format!("{} takes no back-up battery", model.part_no));
        };
        let Some(fitted) = &unit.battery else {
            return Err(format!("no battery is recorded; it takes a {}", need.model));
        };
        let Some(cell) = catalogue.model(&fitted.model).and_then(|model| model.cell) else {
            return Err(format!("the catalogue has no capacity for {}", fitted.model));
        };
        let drain = Drain::of_catalogue(need.standby_drain_ua, need.backup_drain_ua)
            .map_err(|no| format!("{}: {no}", model.part_no))?;
        let (climate, climate_from) =
            self.climate(unit, heat_law(&cell)).map_err(|no| format!("{}: {no}", unit.place))?;
        let cabinet = self.cabinet_of(unit);
        let figures = Figures {
            cell: Cell {
                capacity_mah: cell.capacity_mah,
                self_discharge_pct_a_20c: cell.self_discharge_pct_a,
                cells: need.cells,
            },
            drain,
            climate,
            fitted: Fitted { made_on: fitted.made_on, fitted_on: fitted.fitted_on },
            offs: cabinet.map(|cabinet| self.offs(cabinet)).unwrap_or_default(),
            spread: spread(&cell, need, cabinet),
            limits: Limits {
                hold_up_required_h: self.site.hold_up_required_h,
                spent_chance: self.site.battery_rules.spent_chance,
                site_age_limit_y: self.site.battery_age_limit_y,
                maker_age_limit_y: cell.max_age_y,
            },
            climate_from,
        };
        match figures.battery().findings(today).into_iter().find(|finding| finding.stops()) {
            Some(finding) => Err(format!("unit {}: {finding}", unit.label.human())),
            None => Ok(figures),
        }
    }

    /// How warm the battery is: by a year of readings, else by months, else by the yearly mean,
    /// else by the site's figure. A spare with its battery in lies on the shelf.
    fn climate(&self, unit: &Unit, law: HeatLaw) -> Result<(Climate, &'static str), HeatRefusal> {
        let shelf = Pace::constant(law, self.site.shelf_temperature_c)?;
        let Some(cabinet) = self.cabinet_of(unit) else {
            return Ok((Climate { cabinet: shelf, shelf }, "shelf"));
        };
        let (pace, from) = self.pace_in(cabinet, law)?;
        Ok((Climate { cabinet: pace, shelf }, from))
    }

    /// How warm it is in a cabinet, by the same rule; the site's figure where the register does not
    /// know the cabinet.
    pub fn pace(
        &self,
        cabinet: &CabinetAddress,
        law: HeatLaw,
    ) -> Result<(Pace, &'static str), HeatRefusal> {
        match self.cabinets.get(cabinet) {
            Some(cabinet) => self.pace_in(cabinet, law),
            None => Ok((Pace::constant(law, self.site.temperature_c)?, "site")),
        }
    }

    fn pace_in(
        &self,
        cabinet: &Cabinet,
        law: HeatLaw,
    ) -> Result<(Pace, &'static str), HeatRefusal> {
        let logged = self.readings.get(&cabinet.address).map(|read| Pace::logged(law, read));
        Ok(match (logged, &cabinet.temperatures_c, cabinet.temperature_c) {
            (Some(Ok(pace)), ..) => (pace, "logged"),
            (_, Some(means_c), _) => (Pace::monthly(law, means_c)?, "monthly"),
            (_, None, Some(mean_c)) => (Pace::constant(law, mean_c)?, "yearly"),
            (_, None, None) => (Pace::constant(law, self.site.temperature_c)?, "site"),
        })
    }

    pub fn cabinets(&self) -> impl Iterator<Item = &Cabinet> {
        self.cabinets.values()
    }

    fn offs(&self, cabinet: &Cabinet) -> Vec<Off> {
        let covers = |off: &&PowerOff| off.scope.covers(&cabinet.address, &cabinet.area);
        let here = self.power_offs.iter().filter(covers);
        here.map(|off| Off { from: off.from, to: off.to }).collect()
    }

    /// The batteries in slots: those that can be planned, by place, and those that lack a figure.
    pub fn batteries(
        &self,
        r: &Reader<'_>,
        now: DateTime<Utc>,
    ) -> Result<(Vec<Known>, Vec<UnknownBattery>), Failure> {
        let today = now.date_naive();
        let catalogue = Catalogue::new(r);
        let (mut known, mut unknown) = (Vec::new(), Vec::new());
        for (unit, model) in in_slots(r)? {
            let Some(need) = model.battery.clone() else { continue };
            let figures = self.figures(&catalogue, &unit, &model, today);
            match (figures, self.cabinet_of(&unit)) {
                (Ok(figures), Some(cabinet)) => {
                    let of_catalogue = catalogue.model(&need.model);
                    let (cabinet, lead) = (cabinet.clone(), of_catalogue.as_ref());
                    let due_on = due_on(&figures, &unit);
                    let next = figures.next(today);
                    let life_d = (due_day(&next) - today).num_days().max(1);
                    known.push(Known {
                        due_on,
                        life_d: u32::try_from(life_d).unwrap_or(u32::MAX),
                        lead_time_d: lead.and_then(|model| model.lead_time_d),
                        price_cents: lead.and_then(|model| model.price_cents),
                        unit,
                        need,
                        cabinet,
                        figures,
                    });
                }
                (figures, _) => unknown.push(UnknownBattery {
                    unit: unit.label.to_string(),
                    unit_human: unit.label.human(),
                    place: unit.place.to_string(),
                    message: figures.err().unwrap_or_else(|| {
                        format!("the cabinet of {} is not in the register", unit.place)
                    }),
                }),
            }
        }
        known.sort_by_key(|one| one.unit.place.to_string());
        Ok((known, unknown))
    }
}

/// Units with a battery that stand in slots, with their models.
pub(super) fn in_slots(r: &Reader<'_>) -> Result<Vec<(Unit, Model)>, Failure> {
    let mut found = Vec::new();
    for model in r.models()?.into_iter().filter(|model| model.battery.is_some()) {
        let units = r.units_of(&model.part_no)?.into_iter();
        let standing = units.filter(|unit| unit.place.slot().is_some());
        found.extend(standing.map(|unit| (unit, model.clone())));
    }
    Ok(found)
}

fn due_day(figures: &Figures) -> NaiveDate {
    let days = due_days(&[figures.battery()], &[figures.limits]);
    days.first().map_or(figures.fitted_on(), |(on, _)| *on)
}

/// The day by which the battery must be changed; the day on which its lamp was seen where that
/// comes first.
pub(super) fn due_on(figures: &Figures, unit: &Unit) -> NaiveDate {
    let seen_low = unit.battery_seen.as_ref().filter(|seen| seen.low_lamp);
    let seen_on = seen_low.map(|seen| seen.at.date_naive());
    seen_on.map_or(due_day(figures), |seen_on| seen_on.min(due_day(figures)))
}

pub(super) fn heat_law(cell: &model::Cell) -> HeatLaw {
    match cell.activation_energy_ev {
        Some(activation_ev) => HeatLaw::Arrhenius { activation_ev },
        None => HeatLaw::DoublingPer10K,
    }
}

fn spread(cell: &model::Cell, need: &BatteryNeed, cabinet: Option<&Cabinet>) -> Spread {
    let usual = Spread::USUAL;
    let temperature_k = cabinet.and_then(|cabinet| cabinet.temperature_spread_k);
    Spread {
        capacity_pct: cell.capacity_spread_pct.unwrap_or(usual.capacity_pct),
        self_discharge_pct: cell.self_discharge_spread_pct.unwrap_or(usual.self_discharge_pct),
        standby_pct: need.standby_spread_pct.unwrap_or(usual.standby_pct),
        backup_pct: need.backup_spread_pct.unwrap_or(usual.backup_pct),
        temperature_k: temperature_k.unwrap_or(usual.temperature_k),
    }
}

/// The word for how a battery is changed.
pub(super) fn change_with(need: &BatteryNeed) -> &'static str {
    match need.change_with() {
        ChangeWith::Powered => "powered",
        ChangeWith::Unpowered => "unpowered",
        ChangeWith::Either => "either",
    }
}
