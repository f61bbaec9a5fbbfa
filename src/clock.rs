//! The only file that asks the machine for the time. Everything else is told.

use crate::domain::Instant;
use std::sync::Mutex;

/// Where the engine's time comes from.
pub trait Clock: Send + Sync {
    /// The instant that it is, to the millisecond.
    fn now(&self) -> Instant;
}

/// The machine's clock.
#[derive(Debug, Default, Clone, Copy)]
pub struct SystemClock;

impl Clock for SystemClock {
    #[allow(clippy::disallowed_methods, reason = "this is the one place that asks")]
    fn now(&self) -> Instant {
        let since = std::time::SystemTime::now()
            .duration_since(std::time::UNIX_EPOCH)
            .unwrap_or_default();
        let millis = i64::try_from(since.as_millis()).unwrap_or(i64::MAX);
        Instant::from_timestamp_millis(millis).unwrap_or_default()
    }
}

/// A clock that stands until it is set.
#[derive(Debug)]
pub struct ManualClock {
    now: Mutex<Instant>,
}

impl ManualClock {
    /// A clock that stands at an instant.
    pub fn at(now: Instant) -> ManualClock {
        ManualClock {
            now: Mutex::new(now),
        }
    }

    /// Sets it; backwards as well, as a machine's clock may be.
    pub fn set(&self, now: Instant) {
        *self
            .now
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner) = now;
    }
}

impl Clock for ManualClock {
    fn now(&self) -> Instant {
        *self
            .now
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}
