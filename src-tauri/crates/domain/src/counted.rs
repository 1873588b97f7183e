//! Numbers with their nouns, for sentences.

/// Writes a number with a noun that takes an s where there is not exactly one: `1 piece`,
/// `0 pieces`.
pub fn counted(number: impl Into<u64>, one: &str) -> String {
    counted_as(number, one, &format!("{one}s"))
}

/// The same with a plural of its own, such as `1 is` and `2 are`.
pub fn counted_as(number: impl Into<u64>, one: &str, more: &str) -> String {
    let number = number.into();
    format!("{number} {}", if number == 1 { one } else { more })
}

/// Joins the parts of a list as a sentence has them: `a, b and c`; nothing of none.
pub fn listed(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exactly_one_has_no_s() {
        let said = [0_u32, 1, 2, 21].map(|number| counted(number, "piece"));
        assert_eq!(said, ["0 pieces", "1 piece", "2 pieces", "21 pieces"]);
        assert_eq!([1_u32, 3].map(|n| counted_as(n, "is", "are")), ["1 is", "3 are"]);
    }

    #[test]
    fn a_list_has_and_before_its_last_part() {
        let parts = ["a", "b", "c"].map(str::to_owned);
        assert_eq!([0, 1, 2, 3].map(|n| listed(&parts[..n])), ["", "a", "a and b", "a, b and c"]);
    }
}
