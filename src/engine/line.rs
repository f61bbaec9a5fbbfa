//! How many messages are on the line beside each other.

use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};

/// As many as keep a platform busy that answers at once. With as many as are claimed, each had
/// a connection of its own, and cost the client a tenth more.
const PLACES: usize = 16;
/// No longer is a place waited for: at a platform that takes its time, or does not answer at
/// all, messages are on the line beside however many others.
const PATIENCE: Duration = Duration::from_millis(20);

/// The places on the line to a platform.
#[derive(Debug)]
pub(super) struct Line(Arc<Semaphore>);

/// A place, given back when it is dropped.
pub(super) struct Place(#[expect(dead_code, reason = "held")] Option<OwnedSemaphorePermit>);

impl Line {
    pub(super) fn new() -> Line {
        Line(Arc::new(Semaphore::new(PLACES)))
    }

    /// A place, or soon leave to go without; in the order of asking.
    pub(super) fn place(&self) -> impl Future<Output = Place> + Send + use<> {
        let places = self.0.clone();
        async move {
            // Without a timer where there is room; those who wait are before us even so.
            if let Ok(place) = places.clone().try_acquire_owned() {
                return Place(Some(place));
            }
            let place = tokio::time::timeout(PATIENCE, places.acquire_owned()).await;
            Place(place.ok().and_then(Result::ok))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use futures_util::FutureExt;

    #[tokio::test]
    async fn a_place_is_waited_for_but_not_for_long() {
        let line = Line::new();
        let mut held = Vec::new();
        for _ in 0..PLACES {
            let place = line.place().now_or_never();
            held.push(place.expect("there is room"));
        }
        let mut next = Box::pin(line.place());
        assert!(next.as_mut().now_or_never().is_none(), "the line is full");
        held.pop();
        assert!(
            next.as_mut().now_or_never().is_some(),
            "it is the next one's turn"
        );

        // Nobody gives a place back any more, and all get through.
        let waits: Vec<_> = (0..100).map(|_| line.place()).collect();
        futures_util::future::join_all(waits).await;
    }
}
