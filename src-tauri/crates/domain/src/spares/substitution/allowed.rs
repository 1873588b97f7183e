//! Which model may stand in for which.

use crate::model::{EntityOutput, Lifecycle, Model};

/// Why a model may not stand in for another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoStandIn {
    #[error("the catalogue does not name it as a substitute")]
    NotNamed,
    #[error("its maker has recalled it")]
    Recalled,
    #[error("its key is not the same")]
    Key,
    #[error("it is made for another base")]
    Base,
    #[error("only one of the two is intrinsically safe")]
    IntrinsicSafety,
    #[error("the catalogue lacks entity parameters from the certificate of one of the two")]
    NotCertified,
    #[error("by its certificate its {0} is worse")]
    Certificate(&'static str),
}

/// Says whether pieces of one model may be counted on for places of another.
///
/// The catalogue must name the one as a substitute of the other, in this direction; key and base
/// must be the same, both or neither intrinsically safe, and the stand-in not recalled. Intrinsically
/// safe models must both state their entity parameters, those of the stand-in no worse: then each
/// loop that passes with the one passes with the other. This compares figures that people typed in;
/// it certifies nothing.
///
/// Fails with [`NoStandIn`] at the first of these that does not hold.
///
/// Source of the comparison: IEC 60079-25, Uo <= Ui, Io <= Ii, Po <= Pi, Co >= Ci + Ccable,
/// Lo >= Li + Lcable or the cable's L/R <= Lo/Ro.
pub fn may_stand_in(stand_in: &Model, wanted: &Model) -> Result<(), NoStandIn> {
    if !wanted.substitutes.contains(&stand_in.part_no) {
        return Err(NoStandIn::NotNamed);
    }
    if stand_in.lifecycle == Lifecycle::Recalled {
        return Err(NoStandIn::Recalled);
    }
    if stand_in.key != wanted.key {
        return Err(NoStandIn::Key);
    }
    if stand_in.base != wanted.base {
        return Err(NoStandIn::Base);
    }
    if stand_in.intrinsically_safe != wanted.intrinsically_safe {
        return Err(NoStandIn::IntrinsicSafety);
    }
    match (wanted.intrinsically_safe, &stand_in.entity, &wanted.entity) {
        (false, ..) => Ok(()),
        (true, Some(stand_in), Some(wanted)) => no_worse(stand_in, wanted),
        (true, ..) => Err(NoStandIn::NotCertified),
    }
}

fn no_worse(stand_in: &EntityOutput, wanted: &EntityOutput) -> Result<(), NoStandIn> {
    // What one figure says and the other does not is taken for worse.
    let reaches = |have: Option<f64>, asked: Option<f64>| match (have, asked) {
        (_, None) => true,
        (have, Some(asked)) => have.is_some_and(|have| have >= asked),
    };
    let figures = [
        ("Uo", stand_in.uo_v <= wanted.uo_v),
        ("Io", stand_in.io_ma <= wanted.io_ma),
        ("Po", stand_in.po_mw <= wanted.po_mw),
        ("Co", reaches(stand_in.co_nf, wanted.co_nf)),
        ("Lo", reaches(stand_in.lo_mh, wanted.lo_mh)),
        ("Lo/Ro", reaches(stand_in.lo_ro_uh_ohm, wanted.lo_ro_uh_ohm)),
    ];
    match figures.iter().find(|(_, holds)| !holds) {
        Some((name, _)) => Err(NoStandIn::Certificate(name)),
        None => Ok(()),
    }
}
