/// How a place on a rail compares with what was seen of it. Indices into the two lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compared {
    /// The register's slot and the label seen there agree.
    Agrees { slot: usize, seen: usize },
    /// Another thing was seen in this slot.
    Other { slot: usize, seen: usize },
    /// Its thing was not seen.
    NotSeen { slot: usize },
    /// The register has the slot empty, and nothing was seen.
    Empty { slot: usize },
    /// Seen between these places, but in which slot cannot be said.
    NotExpected { seen: usize },
}

/// A rail as registered, held against what was seen along it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RailSeen {
    pub rows: Vec<Compared>,
    /// The picture was upside down: it agrees from right to left.
    pub turned: bool,
}

/// Compares what was seen along a rail, from left to right, with what stands in its slots.
///
/// The longest run of things that are in the same order in both is taken as right. Between two of
/// them, as many other things as slots are matched one to one; otherwise it is not said which slot
/// they are in. Slots left of the first and right of the last match count as out of the picture,
/// except next to things that were seen there.
pub fn compare<T: PartialEq>(slots: &[Option<T>], seen: &[T]) -> RailSeen {
    let at = |thing: &T| slots.iter().position(|slot| slot.as_ref() == Some(thing));
    let places: Vec<Option<usize>> = seen.iter().map(at).collect();
    let forward = in_order(&places);
    let backward: Vec<Option<usize>> = places.iter().rev().copied().collect();
    let back = in_order(&backward);
    if back.len() > forward.len() {
        let last = seen.len() - 1;
        let rows = rows(slots, &backward, &back).into_iter().map(|row| turned(row, last));
        return RailSeen { rows: rows.collect(), turned: true };
    }
    RailSeen { rows: rows(slots, &places, &forward), turned: false }
}

fn turned(row: Compared, last: usize) -> Compared {
    match row {
        Compared::Agrees { slot, seen } => Compared::Agrees { slot, seen: last - seen },
        Compared::Other { slot, seen } => Compared::Other { slot, seen: last - seen },
        Compared::NotExpected { seen } => Compared::NotExpected { seen: last - seen },
        other => other,
    }
}

/// Indices of the longest choice of places that only go up.
fn in_order(places: &[Option<usize>]) -> Vec<usize> {
    let mut best: Vec<(usize, Option<usize>)> = Vec::with_capacity(places.len());
    for (at, place) in places.iter().enumerate() {
        let before = (0..at)
            .filter(|&b| place.is_some() && places[b].is_some() && places[b] < *place)
            .max_by_key(|&b| (best[b].0, std::cmp::Reverse(b)));
        let length = before.map_or(0, |b| best[b].0) + usize::from(place.is_some());
        best.push((length, before));
    }
    let end = (0..places.len()).filter(|&at| places[at].is_some());
    let mut at = end.max_by_key(|&at| (best[at].0, std::cmp::Reverse(at)));
    let mut chosen = Vec::new();
    while let Some(here) = at {
        chosen.push(here);
        at = best[here].1;
    }
    chosen.reverse();
    chosen
}

fn rows<T>(slots: &[Option<T>], places: &[Option<usize>], right: &[usize]) -> Vec<Compared> {
    let anchors: Vec<(usize, usize)> =
        right.iter().filter_map(|&seen| Some((places[seen]?, seen))).collect();
    let anchors = without_swapped(places, anchors);
    let (Some(first), Some(last)) = (anchors.first(), anchors.last()) else {
        return (0..places.len()).map(|seen| Compared::NotExpected { seen }).collect();
    };
    let mut rows = Vec::new();
    // At the ends of the picture, only slots next to something seen there are in it.
    let before = first.0 - first.0.min(first.1);
    gap(&mut rows, slots, places, before..first.0, 0..first.1);
    for pair in anchors.windows(2) {
        let ((slot, seen), (next_slot, next_seen)) = (pair[0], pair[1]);
        rows.push(Compared::Agrees { slot, seen });
        gap(&mut rows, slots, places, slot + 1..next_slot, seen + 1..next_seen);
    }
    let (slot, seen) = *last;
    rows.push(Compared::Agrees { slot, seen });
    let rest = places.len() - seen - 1;
    gap(
        &mut rows,
        slots,
        places,
        slot + 1..slots.len().min(slot + 1 + rest),
        seen + 1..places.len(),
    );
    rows
}

/// Lets go of a match whose neighbours changed places with it.
///
/// Two that changed places leave one of them in the right order by chance. Where between the
/// matches around it stand as many things as slots, and all of them are of those slots, each is
/// matched by its position instead.
fn without_swapped(
    places: &[Option<usize>],
    mut anchors: Vec<(usize, usize)>,
) -> Vec<(usize, usize)> {
    let mut at = 0;
    while at < anchors.len() && anchors.len() > 1 {
        let from_seen = if at == 0 { 0 } else { anchors[at - 1].1 + 1 };
        let to_seen = anchors.get(at + 1).map_or(places.len(), |next| next.1);
        let here: Vec<usize> = places[from_seen..to_seen].iter().filter_map(|p| *p).collect();
        let least = here.iter().min().copied().unwrap_or(0);
        let most = here.iter().max().copied().unwrap_or(0);
        let from = if at == 0 { least } else { anchors[at - 1].0 + 1 };
        let to = anchors.get(at + 1).map_or(most + 1, |next| next.0);
        let all_of_here = here.len() == to_seen - from_seen && least >= from && most < to;
        let moved = anchors[at].1 - from_seen != anchors[at].0.wrapping_sub(from);
        if all_of_here && moved && to - from == to_seen - from_seen {
            anchors.remove(at);
        } else {
            at += 1;
        }
    }
    anchors
}

/// What lies between two matches.
fn gap<T>(
    rows: &mut Vec<Compared>,
    slots: &[Option<T>],
    places: &[Option<usize>],
    between: std::ops::Range<usize>,
    seen: std::ops::Range<usize>,
) {
    let filled: Vec<usize> = between.clone().filter(|&slot| slots[slot].is_some()).collect();
    let all: Vec<usize> = between.clone().collect();
    let matched = match seen.len() {
        0 => None,
        count if count == all.len() => Some(all),
        count if count == filled.len() => Some(filled),
        _ => None,
    };
    let mut unplaced = seen;
    for slot in between {
        let here = matched.as_ref().is_some_and(|matched| matched.contains(&slot));
        match if here { unplaced.next() } else { None } {
            Some(seen) if places[seen] == Some(slot) => rows.push(Compared::Agrees { slot, seen }),
            Some(seen) => rows.push(Compared::Other { slot, seen }),
            None if slots[slot].is_none() => rows.push(Compared::Empty { slot }),
            None => rows.push(Compared::NotSeen { slot }),
        }
    }
    rows.extend(unplaced.map(|seen| Compared::NotExpected { seen }));
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Slots as letters, `.` for an empty one; rows as `slot=seen`, `slot!seen`, `slot?`, `slot.`
    /// and `+seen`.
    fn check(slots: &str, seen: &str, expected: &str) {
        let slots: Vec<Option<char>> = slots.chars().map(|c| (c != '.').then_some(c)).collect();
        let seen: Vec<char> = seen.chars().collect();
        let compared = compare(&slots, &seen);
        let said: Vec<String> = compared
            .rows
            .iter()
            .map(|row| match *row {
                Compared::Agrees { slot, seen: at } => format!("{slot}={}", seen[at]),
                Compared::Other { slot, seen: at } => format!("{slot}!{}", seen[at]),
                Compared::NotSeen { slot } => format!("{slot}?"),
                Compared::Empty { slot } => format!("{slot}."),
                Compared::NotExpected { seen: at } => format!("+{}", seen[at]),
            })
            .collect();
        let turned = if compared.turned { " turned" } else { "" };
        assert_eq!(said.join(" ") + turned, expected);
    }

    #[test]
    fn a_rail_that_agrees_agrees_in_every_slot() {
        check("ABCD", "ABCD", "0=A 1=B 2=C 3=D");
        check("AB.D", "ABD", "0=A 1=B 2. 3=D");
    }

    #[test]
    fn a_photo_of_part_of_a_rail_says_nothing_of_the_rest() {
        check("ABCDEF", "CD", "2=C 3=D");
    }

    #[test]
    fn a_thing_in_anothers_slot_is_placed_by_its_neighbours() {
        check("ABCD", "ABXD", "0=A 1=B 2!X 3=D");
        check("A.CD", "AXCD", "0=A 1!X 2=C 3=D");
    }

    #[test]
    fn two_that_changed_places_are_both_shown() {
        check("ABCDE", "ACBDE", "0=A 1!C 2!B 3=D 4=E");
        check("ABCDE", "BACDE", "0!B 1!A 2=C 3=D 4=E");
        check("ABCDE", "ABCED", "0=A 1=B 2=C 3!E 4!D");
        check("ABCDE", "ADCBE", "0=A 1!D 2=C 3!B 4=E");
    }

    #[test]
    fn what_was_not_seen_is_told_apart_from_what_is_wrong() {
        check("ABCD", "ABD", "0=A 1=B 2? 3=D");
        check("ABCDE", "AXE", "0=A 1? 2? 3? +X 4=E");
        check("ABCDE", "ACXD", "0=A 1? 2=C +X 3=D");
    }

    #[test]
    fn the_ends_count_only_next_to_something_seen() {
        check("ABCDE", "XBCY", "0!X 1=B 2=C 3!Y");
        check("BC", "XBCY", "+X 0=B 1=C +Y");
    }

    #[test]
    fn a_photo_upside_down_agrees_from_right_to_left() {
        check("ABCD", "DCBA", "0=A 1=B 2=C 3=D turned");
        check("ABCD", "DXBA", "0=A 1=B 2!X 3=D turned");
    }

    #[test]
    fn nothing_known_or_nothing_seen_is_answered() {
        check("ABC", "XY", "+X +Y");
        check("ABC", "", "");
        check("", "X", "+X");
    }
}
