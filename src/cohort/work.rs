//! Things done side by side, a bounded number at a time.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::thread;

/// Does `work` for each item on `threads` threads. What an item needs is in memory
/// only while it is worked on. The first error ends it: what was begun is
/// finished, nothing more is begun.
///
/// Threads of its own and not those the pipeline shares out its loops to: there a
/// thread that waits for a loop would begin with the next photograph meanwhile.
pub fn each<T: Send, E: Send>(
    items: Vec<T>,
    threads: usize,
    work: impl Fn(T) -> Result<(), E> + Sync,
) -> Result<(), E> {
    let items = Mutex::new(items.into_iter());
    let failed: Mutex<Option<E>> = Mutex::new(None);
    let stop = AtomicBool::new(false);
    let run = || {
        while !stop.load(Ordering::Relaxed) {
            let Some(item) = held(&items).next() else {
                return;
            };
            if let Err(error) = work(item) {
                stop.store(true, Ordering::Relaxed);
                held(&failed).get_or_insert(error);
            }
        }
    };
    thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            scope.spawn(run);
        }
    });
    match failed.into_inner().unwrap_or_else(PoisonError::into_inner) {
        Some(error) => Err(error),
        None => Ok(()),
    }
}

/// The lock, whether or not another thread failed while it had it.
pub fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::AtomicUsize;
    use std::time::Duration;

    #[test]
    fn every_item_is_done_once_and_no_more_at_a_time_than_allowed() {
        let (now, most, sum) = (
            AtomicUsize::new(0),
            AtomicUsize::new(0),
            AtomicUsize::new(0),
        );
        each((1..=40).collect(), 3, |n: usize| {
            most.fetch_max(now.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
            thread::sleep(Duration::from_millis(2));
            sum.fetch_add(n, Ordering::SeqCst);
            now.fetch_sub(1, Ordering::SeqCst);
            Ok::<_, ()>(())
        })
        .unwrap();
        assert_eq!(sum.into_inner(), 820);
        assert!((2..=3).contains(&most.into_inner()));
    }

    #[test]
    fn an_error_ends_it() {
        let done = AtomicUsize::new(0);
        let answer = each((0..100).collect(), 1, |n| {
            done.fetch_add(1, Ordering::SeqCst);
            if n == 4 { Err("disk full") } else { Ok(()) }
        });
        assert_eq!(answer, Err("disk full"));
        assert_eq!(done.into_inner(), 5);
    }
}
