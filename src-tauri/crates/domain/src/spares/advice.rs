/// What to order now, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Advice {
    /// Pieces.
    pub order_now: u64,
    pub reason: String,
}

/// Returns what brings the stock up to what should be held, in pieces.
///
/// `usable` lies on the shelf fit for use and `on_order` is on its way; `to_hold` covers random
/// failures, and `planned` is known demand in the lead time that comes on top.
pub fn advice(usable: u64, on_order: u64, to_hold: u64, planned: u64) -> Advice {
    let wanted = to_hold.saturating_add(planned);
    let coming = usable.saturating_add(on_order);
    let order_now = wanted.saturating_sub(coming);
    let wanted_text = match planned {
        0 => format!("Hold {to_hold} against failures"),
        _ => format!("Hold {wanted}: {to_hold} against failures and {planned} for planned changes"),
    };
    let coming_text = match on_order {
        0 => format!("{usable} usable and none on order"),
        _ => format!("{usable} usable and {on_order} on order"),
    };
    let verdict = match order_now {
        0 if coming == wanted => "nothing to order".to_owned(),
        0 => format!("{} to spare, nothing to order", coming - wanted),
        _ => format!("order {order_now}"),
    };
    Advice { order_now, reason: format!("{wanted_text}; {coming_text}: {verdict}.") }
}
