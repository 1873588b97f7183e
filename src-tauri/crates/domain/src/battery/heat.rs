use crate::spares::acceleration;
use chrono::{DateTime, Utc};

/// Temperature that the catalogue states self-discharge for, °C.
pub const REFERENCE_C: f64 = 20.0;

/// Coldest and hottest place that a battery is believed to be in, °C.
pub const TEMPERATURES_C: std::ops::RangeInclusive<f64> = -60.0..=150.0;

/// How self-discharge grows with temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HeatLaw {
    /// Twice as fast for every 10 K. Common practice, no source.
    DoublingPer10K,
    /// Arrhenius, by an activation energy in eV.
    ///
    /// Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 8.1.5.1.
    Arrhenius { activation_ev: f64 },
}

/// A temperature read in a cabinet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    pub at: DateTime<Utc>,
    pub temperature_c: f64,
}

/// How fast a cell discharges itself in a place, in multiples of its pace at [`REFERENCE_C`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    factor: f64,
    per_k: f64,
    mean_c: f64,
}

/// Why temperatures say nothing about the pace of self-discharge.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum HeatRefusal {
    #[error("a temperature is {0} °C: give one of -60 to 150 °C")]
    Temperature(f64),
    #[error("the activation energy is {0} eV: give one of 0.05 to 3 eV")]
    ActivationEnergy(f64),
    #[error("no temperature was read: log some, or state the cabinet's temperature")]
    NoReading,
    #[error("two temperatures are logged for {0}: correct one of them")]
    SameTime(DateTime<Utc>),
    #[error(
        "the logged temperatures cover {covered_d} days: less than a year says nothing of the \
         seasons, so state 12 monthly means until then"
    )]
    ShortLog { covered_d: i64 },
}

/// Days that logged temperatures must cover to stand for all seasons: a year, less a month in which
/// nobody came by.
const LOG_COVERS_D: i64 = 335;

/// Days of each month, January first; February has its leap days shared out.
const MONTHS_D: [f64; 12] =
    [31.0, 28.2425, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];

impl HeatLaw {
    /// Returns how many times as fast as at [`REFERENCE_C`] a cell discharges itself.
    pub fn factor(self, temperature_c: f64) -> f64 {
        match self {
            Self::DoublingPer10K => ((temperature_c - REFERENCE_C) / 10.0).exp2(),
            Self::Arrhenius { activation_ev } => {
                acceleration(activation_ev, REFERENCE_C, temperature_c)
            }
        }
    }

    /// The logarithm of the factor, for each K at this temperature.
    fn per_k(self, temperature_c: f64) -> f64 {
        match self {
            Self::DoublingPer10K => std::f64::consts::LN_2 / 10.0,
            Self::Arrhenius { activation_ev } => {
                acceleration(activation_ev, temperature_c - 0.5, temperature_c + 0.5).ln()
            }
        }
    }

    fn checked(self) -> Result<Self, HeatRefusal> {
        match self {
            Self::Arrhenius { activation_ev } if !(0.05..=3.0).contains(&activation_ev) => {
                Err(HeatRefusal::ActivationEnergy(activation_ev))
            }
            law => Ok(law),
        }
    }
}

impl Pace {
    /// Takes a place that is always as warm.
    pub fn constant(law: HeatLaw, temperature_c: f64) -> Result<Self, HeatRefusal> {
        Self::weighted(law, [(temperature_c, 1.0)])
    }

    /// Takes a year by the means of its months, January first.
    pub fn monthly(law: HeatLaw, means_c: &[f64; 12]) -> Result<Self, HeatRefusal> {
        Self::weighted(law, means_c.iter().copied().zip(MONTHS_D))
    }

    /// Takes logged temperatures, in any order; between two readings the factor is the mean of both.
    ///
    /// Fails where they cover less than about a year, since seasons would be missing.
    pub fn logged(law: HeatLaw, readings: &[Reading]) -> Result<Self, HeatRefusal> {
        let mut readings = readings.to_vec();
        readings.sort_by_key(|reading| reading.at);
        let (Some(first), Some(last)) = (readings.first(), readings.last()) else {
            return Err(HeatRefusal::NoReading);
        };
        let covered_d = (last.at - first.at).num_days();
        if let Some(pair) = readings.windows(2).find(|pair| pair[0].at == pair[1].at) {
            return Err(HeatRefusal::SameTime(pair[0].at));
        }
        if covered_d < LOG_COVERS_D {
            return Err(HeatRefusal::ShortLog { covered_d });
        }
        let halves = readings.windows(2).flat_map(|pair| {
            let half_h = super::hours_between(pair[0].at, pair[1].at) / 2.0;
            [(pair[0].temperature_c, half_h), (pair[1].temperature_c, half_h)]
        });
        Self::weighted(law, halves)
    }

    /// Takes temperatures with the time that each held. The mean is of the factor: a hot month costs
    /// more than a cold one saves, which the mean temperature would hide.
    pub fn weighted(
        law: HeatLaw,
        stretches: impl IntoIterator<Item = (f64, f64)>,
    ) -> Result<Self, HeatRefusal> {
        let law = law.checked()?;
        let (mut time, mut factor, mut slope, mut heat) = (0.0, 0.0, 0.0, 0.0);
        for (temperature_c, weight) in stretches {
            if !TEMPERATURES_C.contains(&temperature_c) {
                return Err(HeatRefusal::Temperature(temperature_c));
            }
            let here = law.factor(temperature_c);
            time += weight;
            factor += weight * here;
            slope += weight * here * law.per_k(temperature_c);
            heat += weight * temperature_c;
        }
        if !(time.is_finite() && time > 0.0) {
            return Err(HeatRefusal::NoReading);
        }
        Ok(Self { factor: factor / time, per_k: slope / factor, mean_c: heat / time })
    }

    /// Multiples of the pace at [`REFERENCE_C`].
    pub fn factor(self) -> f64 {
        self.factor
    }

    /// What a K more adds to the logarithm of the factor. Exact for the doubling; for Arrhenius the
    /// slope at these temperatures, 2 % off for a place that is 3 K warmer.
    pub fn per_k(self) -> f64 {
        self.per_k
    }

    /// Mean temperature, °C.
    pub fn mean_c(self) -> f64 {
        self.mean_c
    }
}
