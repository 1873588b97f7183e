use crate::battery::{HeatLaw, HeatRefusal, Pace, TEMPERATURES_C};
use crate::spares::acceleration;

/// How a failure rate that is stated at one temperature moves to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateHeat {
    stated_c: f64,
    activation_ev: f64,
}

/// Temperature that a rate counts as stated at where the catalogue does not say, °C. A decision, no
/// source.
pub const USUAL_STATED_C: f64 = 40.0;

/// Activation energy where the catalogue does not say, eV. A decision, no source: published values
/// for electronics run from 0.3 to 1.1 eV with the mechanism.
pub const USUAL_ACTIVATION_EV: f64 = 0.4;

impl RateHeat {
    /// Fails unless -60 <= `stated_c` <= 150 °C and 0.05 <= `activation_ev` <= 3 eV.
    pub fn new(stated_c: f64, activation_ev: f64) -> Result<Self, HeatRefusal> {
        if !TEMPERATURES_C.contains(&stated_c) {
            return Err(HeatRefusal::Temperature(stated_c));
        }
        if !(0.05..=3.0).contains(&activation_ev) {
            return Err(HeatRefusal::ActivationEnergy(activation_ev));
        }
        Ok(Self { stated_c, activation_ev })
    }

    /// Temperature that the rate is stated at, °C.
    pub fn stated_c(self) -> f64 {
        self.stated_c
    }

    /// Activation energy, eV.
    pub fn activation_ev(self) -> f64 {
        self.activation_ev
    }

    /// The law that temperatures of a place are averaged by.
    pub fn law(self) -> HeatLaw {
        HeatLaw::Arrhenius { activation_ev: self.activation_ev }
    }

    /// Returns how many times as often as at the stated temperature a unit fails in a place that is
    /// always as warm, °C.
    ///
    /// Source: Arrhenius model, NIST/SEMATECH e-Handbook, section 8.1.5.1.
    pub fn factor_at(self, place_c: f64) -> Result<f64, HeatRefusal> {
        self.factor_over([(place_c, 1.0)])
    }

    /// Returns the same for a place by its temperatures (°C) and how long each held: the mean of the
    /// factor and not the factor of the mean, since a hot month costs more than a cold one saves.
    pub fn factor_over(
        self,
        stretches: impl IntoIterator<Item = (f64, f64)>,
    ) -> Result<f64, HeatRefusal> {
        Pace::weighted(self.law(), stretches).map(|pace| self.factor_of(pace))
    }

    /// Returns the same for a place whose pace was made by [`Self::law`].
    pub fn factor_of(self, pace: Pace) -> f64 {
        pace.factor() / self.law().factor(self.stated_c)
    }

    /// Returns how many times as often a unit fails in a place of `place_c` °C once it is `by_k` K
    /// warmer.
    pub fn warmer(self, place_c: f64, by_k: f64) -> Result<f64, HeatRefusal> {
        for temperature_c in [place_c, place_c + by_k] {
            if !TEMPERATURES_C.contains(&temperature_c) {
                return Err(HeatRefusal::Temperature(temperature_c));
            }
        }
        Ok(acceleration(self.activation_ev, place_c, place_c + by_k))
    }
}
