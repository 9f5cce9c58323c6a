//! Work shared out over cores.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;

/// Layouts take deep stacks.
const STACK: usize = 16 << 20;

/// How many cores there are.
#[must_use]
pub fn cores() -> usize {
    thread::available_parallelism().map_or(1, usize::from)
}

/// Does something with each of several things, on so many threads; what came of each, in their order.
pub fn each<S: Sync, T: Send>(all: &[S], threads: usize, does: &(dyn Fn(&S) -> T + Sync)) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, T)>> = Mutex::new(Vec::new());
    let work = || {
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(one) = all.get(at) else { break };
            let came = does(one);
            done.lock()
                .unwrap_or_else(PoisonError::into_inner)
                .push((at, came));
        }
    };
    thread::scope(|scope| {
        for _ in 1..threads.min(all.len()) {
            // One that cannot be begun leaves more to the others.
            let _ = thread::Builder::new().stack_size(STACK).spawn_scoped(scope, work);
        }
        work();
    });
    let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, came)| came).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_is_done_once_and_told_in_order() {
        for threads in [0, 1, 2, 7] {
            let all: Vec<u32> = (0..50).collect();
            let squares = each(&all, threads, &|one| one * one);
            assert_eq!(squares, all.iter().map(|one| one * one).collect::<Vec<u32>>());
        }
        assert!(each(&[], 3, &|one: &u32| *one).is_empty());
    }
}
