//! What becomes of a task or thread that somebody waits for.

use tokio::task::JoinError;

/// What it gave; where it panicked, so does whoever waits for it.
pub(super) async fn given<T>(ended: Result<T, JoinError>) -> T {
    match ended {
        Ok(given) => given,
        Err(error) => match error.try_into_panic() {
            Ok(panic) => std::panic::resume_unwind(panic),
            // The program ends, and nobody waits for this any more.
            Err(_) => std::future::pending().await,
        },
    }
}
