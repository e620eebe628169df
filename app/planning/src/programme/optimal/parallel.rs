//! The same work on many blocks, on a few threads; the order of the answers is the order of the blocks.
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// `work(i)` for every i below `count`.
pub fn each<T: Send>(threads: usize, count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    if threads <= 1 || count <= 1 {
        return (0..count).map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, T)>> = Mutex::new(Vec::with_capacity(count));
    std::thread::scope(|scope| {
        for _ in 0..threads.min(count) {
            scope.spawn(|| {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= count {
                        break;
                    }
                    let answer = work(i);
                    if let Ok(mut done) = done.lock() {
                        done.push((i, answer));
                    }
                }
            });
        }
    });
    let mut done = done
        .into_inner()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, answer)| answer).collect()
}
