//! Claims tasks, runs them one after the other, and ends them: done, or put back for later.
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;

use chrono::TimeDelta;
use usecases::World;
use usecases::tasks::{Claimed, claim, finish, put_back, renew};

use crate::tasks::Trouble;

/// How long a claim holds without renewal.
pub const LEASE: TimeDelta = TimeDelta::minutes(2);
/// The longest wait before another try.
const LONGEST_WAIT: TimeDelta = TimeDelta::hours(6);

/// How long to wait before a task that failed for the `attempts`th time is tried again: 1, 2, 4 … minutes, at most
/// six hours.
pub fn back_off(attempts: i32) -> TimeDelta {
    let doublings = u32::try_from(attempts.saturating_sub(1)).unwrap_or(0);
    let minutes = 2_i64.saturating_pow(doublings.min(32));
    LONGEST_WAIT.min(TimeDelta::minutes(minutes.min(100_000)))
}

/// Runs every task that is due, oldest first, until none is left or `stop` is set; answers how many were begun. What
/// `act` answers is kept with the task as its ending in words; an error or a panic puts it back.
pub fn work_off(
    world: &World,
    worker: &str,
    lease: TimeDelta,
    stop: &AtomicBool,
    act: &(dyn Fn(&Claimed) -> Result<String, Trouble> + Sync),
) -> usize {
    let mut begun = 0;
    while !stop.load(Ordering::SeqCst) {
        match claim(world, worker, lease) {
            Ok(Some(task)) => {
                begun += 1;
                let ending = with_lease(world, worker, lease, &task, act);
                end(world, worker, &task, ending);
            }
            Ok(None) => break,
            Err(error) => {
                tracing::warn!(%error, "no task could be claimed");
                break;
            }
        }
    }
    begun
}

/// Runs one task while another thread keeps its lease alive.
fn with_lease(
    world: &World,
    worker: &str,
    lease: TimeDelta,
    task: &Claimed,
    act: &(dyn Fn(&Claimed) -> Result<String, Trouble> + Sync),
) -> Result<String, Trouble> {
    let beat = (lease / 3)
        .to_std()
        .unwrap_or(std::time::Duration::from_secs(1));
    std::thread::scope(|scope| {
        let (over, ended) = mpsc::channel::<()>();
        scope.spawn(move || {
            while ended.recv_timeout(beat) == Err(mpsc::RecvTimeoutError::Timeout) {
                if let Err(error) = renew(world, task.id, worker, lease) {
                    tracing::warn!(%error, kind = %task.kind, "a lease could not be renewed");
                }
            }
        });
        let ending = catch_unwind(AssertUnwindSafe(|| act(task)));
        drop(over);
        ending.unwrap_or_else(|cause| Err(Trouble::BrokeOff(said(&*cause))))
    })
}

fn said(cause: &(dyn std::any::Any + Send)) -> String {
    cause
        .downcast_ref::<String>()
        .cloned()
        .or_else(|| cause.downcast_ref::<&str>().map(|s| (*s).to_owned()))
        .unwrap_or_else(|| "no reason given".to_owned())
}

fn end(world: &World, worker: &str, task: &Claimed, ending: Result<String, Trouble>) {
    let ended = match ending {
        Ok(words) => {
            tracing::info!(kind = %task.kind, %words, "a task is done");
            finish(world, task.id, worker, &words)
        }
        Err(trouble) => {
            tracing::warn!(kind = %task.kind, %trouble, attempts = task.attempts, "a task failed");
            let wait = back_off(task.attempts);
            put_back(world, task.id, worker, &trouble.to_string(), wait)
        }
    };
    if let Err(error) = ended {
        tracing::warn!(%error, kind = %task.kind, "a task could not be ended; its lease will run out");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_double_up_to_six_hours() {
        let minutes: Vec<i64> = (0..12).map(|n| back_off(n).num_minutes()).collect();
        assert_eq!(minutes, [1, 1, 2, 4, 8, 16, 32, 64, 128, 256, 360, 360]);
        assert_eq!(back_off(i32::MAX), LONGEST_WAIT);
        assert_eq!(back_off(i32::MIN).num_minutes(), 1);
    }
}
