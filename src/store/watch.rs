//! Who stands beside a store: a test that breaks it at a chosen moment, as
//! power cuts, full disks and other programs do.

use super::StoreError;
use futures_util::future::BoxFuture;
use sqlx::AnyConnection;

/// A moment of a transaction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moment {
    /// Just before it begins.
    Beginning,
    /// All is decided, and nothing of it lasts yet.
    Committing,
    /// All of it lasts, and nobody has been told.
    Committed,
}

/// Told of each moment, with the connection at hand.
pub trait Watch: Send + Sync {
    /// Whether it asks the connection about what this transaction wrote. Where it
    /// does not, that goes to the database together with the commit, as it does
    /// where nobody watches.
    fn looks_at_what_is_written(&self) -> bool {
        true
    }

    /// An error comes in the place of what was to follow. A future that never
    /// ends is how the program dies here: whoever drives it drops it.
    fn at<'a>(
        &'a self,
        moment: Moment,
        connection: &'a mut AnyConnection,
    ) -> BoxFuture<'a, Result<(), StoreError>>;
}
