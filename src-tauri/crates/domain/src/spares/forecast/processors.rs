/// Does the same with each of a list on all processors; the replies keep the order.
pub(super) fn in_parallel<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    if items.len() <= threads {
        return items.iter().map(work).collect();
    }
    let each = items.len().div_ceil(threads);
    let work = &work;
    std::thread::scope(|scope| {
        let running: Vec<_> = items
            .chunks(each)
            .map(|chunk| scope.spawn(move || chunk.iter().map(work).collect::<Vec<R>>()))
            .collect();
        let finished = running.into_iter().map(|thread| match thread.join() {
            Ok(replies) => replies,
            Err(panic) => std::panic::resume_unwind(panic),
        });
        finished.flatten().collect()
    })
}
