//! Keys: exactly equal scheme and letters pass, whatever the scheme.

use super::made::{key, of, seat, spare};
use crate::swap::{Rule, Severity};
use proptest::prelude::*;

/// Every code of a scheme with `keys` keys and these letters.
fn codes(keys: u32, letters: &str) -> Vec<String> {
    (0..keys).fold(vec![String::new()], |codes, _| {
        let longer = |code: &String| letters.chars().map(|c| format!("{code}{c}")).collect();
        codes.iter().flat_map(|code| -> Vec<String> { longer(code) }).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Over all pairs of codes of two schemes: equal scheme and letters pass, anything else stops
    /// and cannot be taken on.
    #[test]
    fn exactly_equal_scheme_and_code_pass(
        keys in 1..4_u32,
        count in 1..5_usize,
        start in 0..20_usize,
    ) {
        let letters = &"ABCDEFGHJKLMNPQRSTUVWXYZ"[start..start + count];
        let every: Vec<(&str, String)> = ["one", "two"]
            .into_iter()
            .flat_map(|scheme| codes(keys, letters).into_iter().map(move |code| (scheme, code)))
            .collect();
        prop_assert_eq!(every.len(), 2 * count.pow(keys));
        let (mut seat, mut spare) = (seat(), spare());
        for (base_scheme, base) in &every {
            seat.slot.key = key(base_scheme, base);
            for (module_scheme, module) in &every {
                spare.model.key = key(module_scheme, module);
                let found = of(Rule::Key, &seat, &spare);
                let [finding] = found.as_slice() else { panic!("{found:?}") };
                let equal = base_scheme == module_scheme && base == module;
                let wanted = if equal { Severity::Pass } else { Severity::Stop };
                prop_assert_eq!(finding.severity, wanted, "{} {}", base, module);
                prop_assert!(!finding.rule.can_be_overridden());
            }
        }
    }
}
