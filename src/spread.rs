//! The same piece of work for many items, on every core.

use std::sync::atomic::{AtomicUsize, Ordering};

/// What the work gives for each item, in the order of the items; `None` is left out. Whoever is free takes the next one.
pub(crate) fn spread<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> Option<R> + Sync) -> Vec<R> {
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    let next = AtomicUsize::new(0);
    let run = || {
        let mut done = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(at) else { return done };
            done.extend(work(item).map(|one| (at, one)));
        }
    };
    let mut all: Vec<(usize, R)> = std::thread::scope(|scope| {
        let helpers: Vec<_> = (1..workers).map(|_| scope.spawn(run)).collect();
        let mut all = run();
        for helper in helpers {
            match helper.join() {
                Ok(done) => all.extend(done),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        all
    });
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, one)| one).collect()
}
