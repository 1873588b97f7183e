use std::sync::LazyLock;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Processors that this process may use. Asking takes as long as foreseeing several items.
static PROCESSORS: LazyLock<usize> =
    LazyLock::new(|| std::thread::available_parallelism().map_or(1, usize::from));

/// Pieces that a list is cut into for each processor, so that none waits long for another.
const PIECES: usize = 64;

/// Does the same work on every item, shared over the processors of the machine, and returns the
/// results in the order of the items.
pub fn in_parallel<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    in_parallel_with(items, || (), |(), item| work(item))
}

/// The same with something that each thread makes for itself once and uses for all its items.
pub fn in_parallel_with<T: Sync, S, R: Send>(
    items: &[T],
    make: impl Fn() -> S + Sync,
    work: impl Fn(&mut S, &T) -> R + Sync,
) -> Vec<R> {
    let threads = (*PROCESSORS).min(items.len());
    if threads <= 1 {
        let mut own = make();
        return items.iter().map(|item| work(&mut own, item)).collect();
    }
    let each = items.len().div_ceil(threads * PIECES);
    let next = AtomicUsize::new(0);
    let take_pieces = || {
        let mut own = make();
        let mut done = Vec::new();
        loop {
            let piece = next.fetch_add(1, Ordering::Relaxed);
            let Some(items) = items.chunks(each).nth(piece) else { return done };
            let results = items.iter().map(|item| work(&mut own, item));
            done.push((piece, results.collect::<Vec<R>>()));
        }
    };
    let mut pieces = std::thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(take_pieces)).collect();
        let mut pieces = take_pieces();
        for thread in others {
            match thread.join() {
                Ok(done) => pieces.extend(done),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        pieces
    });
    pieces.sort_unstable_by_key(|(piece, _)| *piece);
    let mut results = Vec::with_capacity(items.len());
    pieces.into_iter().for_each(|(_, done)| results.extend(done));
    results
}

#[cfg(test)]
mod tests {
    use super::{in_parallel, in_parallel_with};

    #[test]
    fn results_stand_in_the_order_of_the_items() {
        for count in [0, 1, 2, 3, 129, 1000] {
            let items: Vec<usize> = (0..count).collect();
            let doubled: Vec<usize> = items.iter().map(|item| item * 2).collect();
            assert_eq!(in_parallel(&items, |item| item * 2), doubled);
        }
    }

    #[test]
    fn each_thread_keeps_what_it_made() {
        let items = [(); 500];
        let counted = in_parallel_with(
            &items,
            || 0,
            |taken, ()| {
                *taken += 1;
                *taken
            },
        );
        let begun = counted.iter().filter(|taken| **taken == 1).count();
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        assert!((1..=threads).contains(&begun), "{begun} of {threads} threads began a count");
    }
}
