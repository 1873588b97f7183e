/// Powers are taken as no further from 0 than this.
const FARTHEST: f64 = 700.0;
/// What shifts the whole part of a number to the end of its digits: 1.5 · 2^52.
const TO_END: f64 = 6_755_399_441_055_744.0;
/// ln 2 in two parts; so many times the first has no more digits than a number holds.
const LN_2: [f64; 2] = [6.931_471_803_691_238e-1, 1.908_214_929_270_587_7e-10];
/// 1 / n! from 0 on; more add nothing up to half of ln 2.
const TAYLOR: [f64; 14] = {
    let mut terms = [1.0; 14];
    let mut n = 1;
    while n < terms.len() {
        terms[n] = terms[n - 1] / n as f64;
        n += 1;
    }
    terms
};

/// Puts e to each power in its place, for powers of -700 to 700; those beyond are taken as these.
///
/// Good to two units of the last place. There is no branch, so that several go side by side, which
/// those of the standard library do not.
///
/// Source: multiples of ln 2 taken off in two parts, Cody and Waite 1980, Software Manual for the
/// Elementary Functions; then Taylor's series.
pub(super) fn exponentials(powers: &mut [f64]) {
    for power in powers {
        let near = if *power > -FARTHEST { *power } else { -FARTHEST };
        let near = if near < FARTHEST { near } else { FARTHEST };
        let shifted = near * std::f64::consts::LOG2_E + TO_END;
        let twos = shifted - TO_END;
        let rest = (near - twos * LN_2[0]) - twos * LN_2[1];
        let series = TAYLOR.iter().rev().fold(0.0, |sum, term| sum * rest + term);
        // The exponent of a number begins at its bit 52, and is 1,023 for those from 1 to 2.
        *power = series * f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52));
    }
}
