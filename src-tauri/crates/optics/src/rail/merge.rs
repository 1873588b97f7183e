//! Several photos of the same rails, put together.

/// A label as one photo shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeenLabel {
    pub text: String,
    /// Recognised only: somebody or another photo has to agree.
    pub confirm: bool,
}

/// A label as all photos show it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MergedLabel {
    pub text: String,
    /// In how many photos it was read.
    pub photos: usize,
    /// Still only recognised, and by one photo only.
    pub confirm: bool,
}

/// A rail put together from photos.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MergedRail {
    /// From the left as the labels are read.
    pub labels: Vec<MergedLabel>,
    /// Labels that another photo shows at another place of the order: something was moved
    /// between the photos, or one of the labels hangs twice.
    pub contradictions: Vec<String>,
}

/// Puts the rails of several photos together where they share a label.
///
/// Order within a rail is kept from every photo. Where two photos see different labels between
/// the same two neighbours, those of the earlier photo come first. A label that two photos read
/// needs no more confirming.
pub fn merged(photos: &[Vec<Vec<SeenLabel>>]) -> Vec<MergedRail> {
    let mut rails: Vec<MergedRail> = Vec::new();
    for photo in photos {
        for seen in photo.iter().filter(|rail| !rail.is_empty()) {
            let mut fresh = as_rail(seen);
            // A photo may join rails that shared nothing until now.
            let (joined, others): (Vec<_>, Vec<_>) =
                rails.into_iter().partition(|rail| shares(rail, &fresh));
            for rail in joined.into_iter().rev() {
                fresh = joined_with(rail, fresh);
            }
            rails = others;
            rails.push(fresh);
        }
    }
    rails
}

fn as_rail(seen: &[SeenLabel]) -> MergedRail {
    let mut rail = MergedRail::default();
    for label in seen.iter().filter(|label| !label.text.is_empty()) {
        if rail.labels.iter().any(|known| known.text == label.text) {
            rail.contradictions.push(label.text.clone());
            continue;
        }
        let (text, confirm) = (label.text.clone(), label.confirm);
        rail.labels.push(MergedLabel { text, photos: 1, confirm });
    }
    rail
}

fn shares(a: &MergedRail, b: &MergedRail) -> bool {
    a.labels.iter().any(|label| b.labels.iter().any(|other| other.text == label.text))
}

fn joined_with(mut rail: MergedRail, more: MergedRail) -> MergedRail {
    rail.contradictions.extend(more.contradictions);
    let texts: Vec<String> = more.labels.iter().map(|label| label.text.clone()).collect();
    let mut last_shared = None;
    for (at, label) in more.labels.into_iter().enumerate() {
        let Some(place) = position(&rail, &label.text) else {
            // Before the next label that both have, and so behind what only the earlier photo saw.
            let ahead = texts[at + 1..].iter().filter_map(|text| position(&rail, text));
            let next = ahead.filter(|place| last_shared.is_none_or(|last| *place > last)).min();
            let next = next.unwrap_or(rail.labels.len());
            rail.labels.insert(next, label);
            continue;
        };
        let known = &mut rail.labels[place];
        known.photos += label.photos;
        known.confirm = false;
        if last_shared.is_some_and(|last| place < last) {
            rail.contradictions.push(label.text);
        } else {
            last_shared = Some(place);
        }
    }
    rail
}

fn position(rail: &MergedRail, text: &str) -> Option<usize> {
    rail.labels.iter().position(|label| label.text == text)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One letter a label; a small one is only recognised.
    fn photo(rails: &[&str]) -> Vec<Vec<SeenLabel>> {
        let label = |c: char| SeenLabel {
            text: c.to_ascii_uppercase().to_string(),
            confirm: c.is_ascii_lowercase(),
        };
        rails.iter().map(|rail| rail.chars().map(label).collect()).collect()
    }

    fn texts(rail: &MergedRail) -> String {
        let one = |label: &MergedLabel| {
            if label.confirm { label.text.to_lowercase() } else { label.text.clone() }
        };
        rail.labels.iter().map(one).collect()
    }

    #[test]
    fn overlapping_photos_make_one_ordered_rail() {
        for (photos, whole) in [
            (vec!["ABCD", "CDEF"], "ABCDEF"),
            (vec!["CDEF", "ABCD"], "ABCDEF"),
            (vec!["ABD", "BCDE"], "ABCDE"),
            (vec!["ABc", "cDE"], "ABCDE"),
            (vec!["AB", "DE", "BCD"], "ABCDE"),
            (vec!["Ab", "AC"], "AbC"),
            (vec!["bcd"], "bcd"),
        ] {
            let photos: Vec<_> = photos.iter().map(|rail| photo(&[rail])).collect();
            let rails = merged(&photos);
            assert_eq!(rails.len(), 1, "{rails:?}");
            let sorted = |text: &str| {
                let mut chars: Vec<char> = text.chars().collect();
                chars.sort_unstable();
                chars
            };
            assert_eq!(sorted(&texts(&rails[0])), sorted(whole));
            if whole != "AbC" {
                assert_eq!(texts(&rails[0]), whole);
            }
            assert!(rails[0].contradictions.is_empty());
        }
    }

    #[test]
    fn two_rails_stay_two_and_a_moved_label_is_told() {
        let rails = merged(&[photo(&["ABC", "XYZ"]), photo(&["BCD", "YZ"])]);
        assert_eq!(rails.iter().map(texts).collect::<Vec<_>>(), ["ABCD", "XYZ"]);
        let rails = merged(&[photo(&["ABCD"]), photo(&["BADC"])]);
        assert_eq!(rails.len(), 1);
        assert_eq!(rails[0].labels.len(), 4);
        assert_eq!(rails[0].contradictions, ["A", "C"]);
        assert!(merged(&[Vec::new(), photo(&[""])]).is_empty());
    }
}
