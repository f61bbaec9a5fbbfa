//! What PostgreSQL counts, asked at one moment of a transaction. SQLite counts nothing.

use futures_util::future::BoxFuture;
use sqlx::{AnyConnection, Executor};
use std::sync::Mutex;
use vialbell::store::{Moment, StoreError, Watch};

/// Has PostgreSQL tell all what it has counted for this connection, and count anew.
pub const TELL: &str = "select 1 from pg_stat_force_next_flush()";

/// Keeps the newest answer to a question.
pub struct Counted {
    asked: (Moment, &'static str),
    told: Vec<(Moment, &'static str)>,
    newest: Mutex<Option<i64>>,
}

impl Counted {
    pub fn at(moment: Moment, question: &'static str) -> Counted {
        Counted {
            asked: (moment, question),
            told: Vec::new(),
            newest: Mutex::new(None),
        }
    }

    /// The connection is told something as well; what is told at the moment of the question,
    /// before it.
    pub fn telling(mut self, moment: Moment, sql: &'static str) -> Counted {
        self.told.push((moment, sql));
        self
    }

    /// The newest answer, once; none from SQLite.
    pub fn take(&self) -> Option<i64> {
        self.newest.lock().unwrap().take()
    }
}

impl Watch for Counted {
    fn at<'a>(
        &'a self,
        moment: Moment,
        connection: &'a mut AnyConnection,
    ) -> BoxFuture<'a, Result<(), StoreError>> {
        Box::pin(async move {
            if connection.backend_name() != "PostgreSQL" {
                return Ok(());
            }
            for (_, sql) in self.told.iter().filter(|(at, _)| *at == moment) {
                connection.execute(*sql).await?;
            }
            let (at, question) = self.asked;
            if at == moment {
                let count = sqlx::query_scalar(question).fetch_one(connection).await?;
                *self.newest.lock().unwrap() = Some(count);
            }
            Ok(())
        })
    }
}
