use std::num::NonZero;
use std::thread;

/// Does the same work on every item, shared over the processors of the machine, and returns the
/// results in the order of the items.
pub fn in_parallel<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = thread::available_parallelism().map_or(1, NonZero::get).min(8);
    if threads == 1 || items.len() < 2 {
        return items.iter().map(work).collect();
    }
    let work = &work;
    thread::scope(|scope| {
        let shares: Vec<_> = items
            .chunks(items.len().div_ceil(threads))
            .map(|share| scope.spawn(move || share.iter().map(work).collect::<Vec<_>>()))
            .collect();
        let done = shares.into_iter().map(|share| match share.join() {
            Ok(results) => results,
            Err(panic) => std::panic::resume_unwind(panic),
        });
        done.flatten().collect()
    })
}

#[cfg(test)]
mod tests {
    use super::in_parallel;

    #[test]
    fn results_stand_in_the_order_of_the_items() {
        for count in [0, 1, 2, 3, 1000] {
            let items: Vec<usize> = (0..count).collect();
            let doubled: Vec<usize> = items.iter().map(|item| item * 2).collect();
            assert_eq!(in_parallel(&items, |item| item * 2), doubled);
        }
    }
}
