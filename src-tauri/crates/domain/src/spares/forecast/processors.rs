use std::sync::LazyLock;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Processors that this process may use. Asking takes as long as foreseeing several items.
static PROCESSORS: LazyLock<usize> =
    LazyLock::new(|| std::thread::available_parallelism().map_or(1, usize::from));

/// Pieces that a list is cut into for each processor, so that none waits long for another.
const PIECES: usize = 8;

/// Does the same with each of a list on all processors; the replies keep the order.
pub(super) fn in_parallel<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = *PROCESSORS;
    if threads == 1 || items.len() <= threads {
        return items.iter().map(work).collect();
    }
    let each = items.len().div_ceil(threads * PIECES);
    let next = AtomicUsize::new(0);
    let take_pieces = || {
        let mut done = Vec::new();
        loop {
            let piece = next.fetch_add(1, Ordering::Relaxed);
            let Some(items) = items.chunks(each).nth(piece) else { return done };
            done.push((piece, items.iter().map(&work).collect::<Vec<R>>()));
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
    let mut replies = Vec::with_capacity(items.len());
    pieces.into_iter().for_each(|(_, done)| replies.extend(done));
    replies
}
