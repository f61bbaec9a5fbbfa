//! All SQL. The store keeps what was decided and finds what is due; it decides nothing.
//!
//! One SQL text serves SQLite and PostgreSQL; where they differ, [`dialect`]
//! has the words. Columns hold whole numbers and text, which both know alike.
//!
//! A limit that is always the same stands in the text: where it is a parameter,
//! SQLite prepares the statement anew each time.

mod ahead;
mod alerts;
mod audit;
mod backlog;
mod backup;
mod beside;
mod buttons;
mod cells;
mod clinic_journal;
mod dialect;
mod enrolments;
mod erasure;
mod error;
mod household_rows;
mod households;
mod inbox;
mod invitations;
mod jsonb;
mod lending;
mod moving;
mod outbox;
mod postgres;
mod script;
mod sqlite;
mod staff;
mod table;
mod touched;
mod watch;
mod workers;
mod zone_rules;

pub use ahead::Ahead;
pub use audit::{AuditSpan, Audited, Came};
pub use backlog::{Backlog, Waiting as Backlogged};
pub use backup::BackedUp;
pub use buttons::{Buttons, ButtonsDue, Changed, ToChange, WithButtons};
pub use clinic_journal::{AtClinic, ClinicEntry, Doer};
pub use enrolments::UnderWay;
pub use erasure::{Erased, Erasing};
pub use error::StoreError;
pub use household_rows::Found;
pub use households::{Caused, Loaded, Saving};
pub use inbox::Waiting;
pub use invitations::Redeemed;
pub use moving::{Held as HeldRows, MovedTable};
pub use outbox::{Claimed, Claims, Settled, ToSend};
pub use staff::ClinicCode;
pub use watch::{Moment, Watch};
pub use workers::{Alone, Ear, Heard, Seat};
pub use zone_rules::ZoneRules;

use crate::domain::member::Member;
use crate::domain::zone::Zone;
use dialect::Dialect;
use lending::{Lending, Lent};
use script::{Script, Value};
use sqlx::any::AnyRow;
use sqlx::pool::PoolConnection;
use sqlx::{Any, AnyConnection, AnyPool, Row};
use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::Once;
use table::Cell;
use tokio::sync::{Mutex, OwnedMutexGuard, OwnedSemaphorePermit};

/// The migration that made the table of the staff.
const STAFF_SINCE: i64 = 6;

static DRIVERS: Once = Once::new();

fn load_drivers() {
    DRIVERS.call_once(sqlx::any::install_default_drivers);
}

/// The database of one or more clinics.
#[derive(Clone)]
pub struct Store {
    database: Database,
    watch: Option<Arc<dyn Watch>>,
}

#[derive(Clone)]
enum Database {
    Sqlite(File),
    Postgres {
        pool: AnyPool,
        lending: Lending,
        url: String,
    },
}

/// SQLite has one writer, and whoever only reads waits for no writer: one connection for each.
/// In memory, where nobody else sees what one has written, they are the same.
#[derive(Clone)]
struct File {
    /// Before the writer, so that it is closed before: the last to go takes the log away.
    reader: Arc<Mutex<Open>>,
    writer: Arc<Mutex<Open>>,
}

/// A connection to a file.
struct Open {
    connection: sqlite::Orderly,
    /// Set while a transaction is open: one that was dropped halfway is rolled back.
    in_transaction: bool,
}

/// One transaction, or a connection to read by before one is begun
/// ([`Store::begin_to_read`]). Dropped without [`Work::commit`], it leaves nothing behind.
pub struct Work {
    held: Held,
    watch: Option<Arc<dyn Watch>>,
    /// What goes with the next question or with the commit. Only in SQLite.
    unwritten: Script,
    /// Whether something gathered was refused: what else was gathered with it is not
    /// written, so nothing of this transaction may last.
    refused: bool,
    /// Households that it has listed as due: nobody else changes them until it ends. Only in
    /// PostgreSQL.
    due: BTreeSet<i64>,
}

enum Held {
    Sqlite(OneByOne),
    Postgres(Pooled),
}

/// A connection to a file, from the first time that it is asked something: what is
/// thought before that, others do not wait for.
struct OneByOne {
    file: Arc<Mutex<Open>>,
    open: Option<OwnedMutexGuard<Open>>,
    /// Whether what is first run on it begins a transaction.
    begins: bool,
}

impl OneByOne {
    async fn open(&mut self) -> &mut AnyConnection {
        let open = match self.open.take() {
            Some(open) => open,
            None => {
                let mut open = self.file.clone().lock_owned().await;
                open.clear().await;
                open.in_transaction = self.begins;
                open
            }
        };
        &mut self.open.insert(open).connection
    }

    /// Nothing is open on it any more.
    fn ended(&mut self) {
        if let Some(open) = &mut self.open {
            open.in_transaction = false;
        }
    }
}

impl Drop for OneByOne {
    /// What was dropped halfway keeps other programs from the file until it is rolled back:
    /// that is not left to whoever happens to begin next.
    fn drop(&mut self) {
        let open = self.open.take().filter(|open| open.in_transaction);
        let runtime = tokio::runtime::Handle::try_current();
        if let (Some(mut open), Ok(runtime)) = (open, runtime) {
            runtime.spawn(async move { open.clear().await });
        }
    }
}

impl Open {
    /// Rolls back a transaction that was dropped halfway.
    async fn clear(&mut self) {
        if self.in_transaction {
            // It fails only where SQLite has done it already.
            let _ = execute(&mut self.connection, "rollback").await;
            self.in_transaction = false;
        }
    }
}

/// A connection that goes back to its pool when nothing is open on it any more.
struct Pooled {
    connection: Option<PoolConnection<Any>>,
    _place: Option<OwnedSemaphorePermit>,
    lending: Lending,
}

impl Drop for Pooled {
    fn drop(&mut self) {
        let Some(mut connection) = self.connection.take() else {
            return;
        };
        let Ok(runtime) = tokio::runtime::Handle::try_current() else {
            // The server rolls back when it sees that nobody is there.
            connection.close_on_drop();
            return;
        };
        let undoing = self.lending.undoing();
        runtime.spawn(async move {
            if execute(&mut connection, "rollback").await.is_err() {
                connection.close_on_drop();
            }
            drop(undoing);
        });
    }
}

impl Store {
    /// Opens the database at a URL such as `sqlite:vialbell.db` or
    /// `postgres://user@host/vialbell`, and brings its tables up to date. A
    /// SQLite file is made where there is none.
    ///
    /// A database made by a newer program, or a file that is none, is left as it is.
    ///
    /// # Errors
    /// One line that names the database, never its password.
    pub async fn open(url: &str) -> Result<Store, StoreError> {
        load_drivers();
        let database = if postgres::is_url(url) {
            let pool = postgres::open(url).await?;
            Database::Postgres {
                lending: Lending::of(pool.clone()),
                pool,
                url: url.to_owned(),
            }
        } else {
            let file = sqlite::file_of(url).ok_or_else(|| StoreError::Url(url.into()))?;
            let writer = sqlite::open(file).await?;
            Database::sqlite(writer, sqlite::reader(file).await?)
        };
        Ok(Store {
            database,
            watch: None,
        })
    }

    /// The same store with somebody beside it.
    #[must_use]
    pub fn watched(mut self, watch: Arc<dyn Watch>) -> Store {
        self.watch = Some(watch);
        self
    }

    /// Opens a database that is gone when it is dropped.
    ///
    /// # Errors
    /// There is no memory for it.
    pub async fn throw_away() -> Result<Store, StoreError> {
        Store::open("sqlite::memory:").await
    }

    /// Zones of a clinic's households, and its staff, in a database that is
    /// only looked at: it is neither made, nor brought up to date, nor written to.
    ///
    /// # Errors
    /// As [`Store::open`].
    pub async fn look_at(url: &str, clinic: &str) -> Result<(Vec<Zone>, Vec<Member>), StoreError> {
        load_drivers();
        let mut connection = if postgres::is_url(url) {
            match postgres::look(url).await? {
                Some(connection) => connection,
                None => return Ok((Vec::new(), Vec::new())),
            }
        } else {
            let file = sqlite::file_of(url).ok_or_else(|| StoreError::Url(url.into()))?;
            sqlite::look(file).await?
        };
        let zones = households::zones(&mut connection, clinic).await?;
        let newest: Option<i64> = sqlx::query_scalar("select max(version) from _sqlx_migrations")
            .fetch_one(&mut connection)
            .await?;
        // A program of before knew no staff.
        let staff = match newest {
            Some(version) if version >= STAFF_SINCE => staff::of(&mut connection, clinic).await?,
            _ => Vec::new(),
        };
        Ok((zones, staff))
    }

    /// Shares the database among so many workers, this one with them. In SQLite there are
    /// no others.
    pub fn share(&self, workers: u32) {
        if let Database::Postgres { lending, .. } = &self.database {
            lending.share(workers);
        }
    }

    /// How many transactions this worker has open beside each other, unless one takes
    /// unusually long.
    #[must_use]
    pub fn at_once(&self) -> u32 {
        match &self.database {
            Database::Sqlite(_) => 1,
            Database::Postgres { lending, .. } => lending.at_once(),
        }
    }

    /// Begins a transaction that may write. In SQLite it is begun with its first
    /// question or with its commit, and others wait from then on: where the
    /// database cannot be used now, these fail.
    ///
    /// # Errors
    /// The database cannot be used now.
    pub async fn begin(&self) -> Result<Work, StoreError> {
        let mut work = self.hold(true).await?;
        work.tell(Moment::Beginning).await?;
        work.write(work.dialect().begin(), []).await?;
        Ok(work)
    }

    /// Begins to read what is to be decided on, and then saved by
    /// [`Store::begin_to_save`]. In SQLite nothing is begun, and nobody waits.
    ///
    /// # Errors
    /// The database cannot be used now.
    pub async fn begin_to_read(&self) -> Result<Work, StoreError> {
        match &self.database {
            Database::Sqlite(_) => self.hold(false).await,
            Database::Postgres { .. } => self.begin().await,
        }
    }

    /// Begins the transaction that saves what was decided: the one that holds
    /// the claims, where there is one.
    ///
    /// # Errors
    /// The database cannot be used now.
    pub async fn begin_to_save(&self, claims: Option<Work>) -> Result<Work, StoreError> {
        match claims {
            Some(work) => Ok(work),
            None => self.begin().await,
        }
    }

    /// A connection on which nothing is open, to begin a transaction on or only to read by.
    async fn hold(&self, begins: bool) -> Result<Work, StoreError> {
        let held = match &self.database {
            Database::Sqlite(File { reader, writer }) => Held::Sqlite(OneByOne {
                file: if begins { writer } else { reader }.clone(),
                open: None,
                begins,
            }),
            Database::Postgres { lending, .. } => {
                let Lent { connection, place } = lending.acquire().await?;
                Held::Postgres(Pooled {
                    connection: Some(connection),
                    _place: place,
                    lending: lending.clone(),
                })
            }
        };
        Ok(Work {
            held,
            watch: self.watch.clone(),
            unwritten: Script::default(),
            refused: false,
            due: BTreeSet::new(),
        })
    }

    /// Rebuilds the file: pages that were given up, and the write-ahead log, still
    /// hold what no row does.
    ///
    /// # Errors
    /// Where somebody else uses the database for longer than a few seconds.
    pub async fn scrub(&self) -> Result<(), StoreError> {
        match &self.database {
            Database::Sqlite(File { writer, .. }) => {
                let mut open = writer.lock().await;
                open.clear().await;
                sqlite::scrub(&mut open.connection).await
            }
            Database::Postgres { pool, .. } => postgres::scrub(&mut *pool.acquire().await?).await,
        }
    }
}

impl Database {
    fn sqlite(writer: AnyConnection, reader: Option<AnyConnection>) -> Database {
        let open = |connection| {
            Arc::new(Mutex::new(Open {
                connection: sqlite::Orderly::new(connection),
                in_transaction: false,
            }))
        };
        let writer = open(writer);
        let reader = reader.map_or_else(|| writer.clone(), open);
        Database::Sqlite(File { reader, writer })
    }
}

impl Work {
    /// Makes it last: when this returns, it is on disk.
    ///
    /// # Errors
    /// Nothing of it lasts, unless the connection broke while the database answered.
    pub async fn commit(mut self) -> Result<(), StoreError> {
        self.tell(Moment::Committing).await?;
        self.make_last(Script::default()).await?;
        Ok(())
    }

    /// Asks one thing more, which has one row for an answer, and makes it last with the rest.
    async fn commit_asking(
        mut self,
        sql: &str,
        values: impl IntoIterator<Item = Cell>,
    ) -> Result<Vec<AnyRow>, StoreError> {
        self.tell(Moment::Committing).await?;
        let mut question = Script::default();
        question.add(sql, values);
        self.make_last(question).await
    }

    async fn make_last(mut self, question: Script) -> Result<Vec<AnyRow>, StoreError> {
        if self.refused {
            return Err(StoreError::Refused);
        }
        self.unwritten.append(question);
        let answer = match &mut self.held {
            Held::Sqlite(held) => {
                let mut script = std::mem::take(&mut self.unwritten);
                script.add("commit", []);
                let answer = script.rows(held.open().await).await?;
                held.ended();
                answer
            }
            Held::Postgres(_) => {
                let answer = match self.unwritten.is_empty() {
                    true => Vec::new(),
                    false => self.run().await?,
                };
                postgres::commit(self.connection().await).await?;
                answer
            }
        };
        self.tell(Moment::Committed).await?;
        self.let_go();
        Ok(answer)
    }

    /// What holds the claims while somebody decides. In PostgreSQL that is this
    /// transaction. SQLite has no claims, since it has one writer: others write
    /// meanwhile, and whether they wrote what was read is found when it is saved
    /// ([`StoreError::Conflict`]).
    pub fn claims(self) -> Option<Work> {
        if self.dialect().has_others() {
            return Some(self);
        }
        self.let_go();
        None
    }

    /// Ends what was begun to read by ([`Store::begin_to_read`]).
    ///
    /// # Errors
    /// The database fails.
    pub async fn end_reading(self) -> Result<(), StoreError> {
        match self.claims() {
            Some(work) => work.commit().await,
            None => Ok(()),
        }
    }

    /// Gives the connection back as it is: nothing is open on it.
    fn let_go(mut self) {
        if let Held::Postgres(pooled) = &mut self.held
            && let Some(connection) = pooled.connection.take()
        {
            pooled.lending.give_back(connection);
        }
    }

    async fn tell(&mut self, moment: Moment) -> Result<(), StoreError> {
        let Some(watch) = self.watch.clone() else {
            return Ok(());
        };
        if watch.looks_at_what_is_written() {
            self.db().await?;
        }
        watch.at(moment, self.connection().await).await
    }

    fn dialect(&self) -> Dialect {
        match &self.held {
            Held::Sqlite(_) => Dialect::Sqlite,
            Held::Postgres(_) => Dialect::Postgres,
        }
    }

    /// Undoes all of it now; dropped, it is undone soon.
    ///
    /// # Errors
    /// The database fails.
    pub async fn roll_back(mut self) -> Result<(), StoreError> {
        self.unwritten = Script::default();
        match &mut self.held {
            Held::Sqlite(held) => {
                if let Some(open) = &mut held.open {
                    // Where nothing was asked nothing was begun, and SQLite says so. The next
                    // that begins undoes what may be open still.
                    let undone = execute(&mut open.connection, "rollback").await;
                    open.in_transaction = undone.is_err();
                }
            }
            Held::Postgres(_) => execute(self.connection().await, "rollback").await?,
        }
        self.let_go();
        Ok(())
    }

    /// Writes what needs no answer. In SQLite it is written with the next
    /// question or with the commit, and fails there where it fails.
    async fn write(
        &mut self,
        sql: &str,
        values: impl IntoIterator<Item = Cell>,
    ) -> Result<(), StoreError> {
        self.unwritten.add(sql, values);
        self.written().await
    }

    /// Writes rows, which a statement finds as a JSON array in `$1`, and other values from `$2`
    /// on; where there are no rows, nothing.
    async fn write_rows(
        &mut self,
        sql: &str,
        rows: &[impl AsRef<[Cell]>],
        values: impl IntoIterator<Item = Cell>,
    ) -> Result<(), StoreError> {
        if rows.is_empty() {
            return Ok(());
        }
        let rows = match self.dialect() {
            Dialect::Sqlite => Value::Binary(jsonb::rows(rows)),
            Dialect::Postgres => Value::Cell(table::json(rows)?.into()),
        };
        self.unwritten.add_rows(sql, rows, values);
        self.written().await
    }

    async fn written(&mut self) -> Result<(), StoreError> {
        match self.dialect() {
            Dialect::Sqlite => Ok(()),
            Dialect::Postgres => self.db().await.map(drop),
        }
    }

    /// Asks what has one text for an answer.
    async fn ask(
        &mut self,
        sql: &str,
        values: impl IntoIterator<Item = Cell>,
    ) -> Result<String, StoreError> {
        Ok(self.row(sql, values).await?.try_get(0)?)
    }

    /// Asks what has one row for an answer.
    async fn row(
        &mut self,
        sql: &str,
        values: impl IntoIterator<Item = Cell>,
    ) -> Result<AnyRow, StoreError> {
        only(self.rows(sql, values).await?)
    }

    /// Asks for some columns of all rows that are picked by `from`, with all that stands
    /// behind it. They come as one text, for [`cells::Cells`]: handed over one by one, each
    /// wakes whoever asked.
    async fn list(
        &mut self,
        columns: &[&str],
        from: &str,
        values: impl IntoIterator<Item = Cell>,
    ) -> Result<String, StoreError> {
        let sql = self.dialect().list(columns, from);
        self.ask(&sql, values).await
    }

    /// Asks what has rows for an answer.
    async fn rows(
        &mut self,
        sql: &str,
        values: impl IntoIterator<Item = Cell>,
    ) -> Result<Vec<AnyRow>, StoreError> {
        self.unwritten.add(sql, values);
        self.run().await
    }

    /// The connection, with all written so far.
    async fn db(&mut self) -> Result<&mut AnyConnection, StoreError> {
        if self.refused || !self.unwritten.is_empty() {
            self.run().await?;
        }
        Ok(self.connection().await)
    }

    /// Runs what was gathered; gives the rows of its last statement.
    async fn run(&mut self) -> Result<Vec<AnyRow>, StoreError> {
        if self.refused {
            return Err(StoreError::Refused);
        }
        // Waited for before it is taken: dropped while it waits, nothing is lost of it.
        self.connection().await;
        let script = std::mem::take(&mut self.unwritten);
        let answer = script.rows(self.connection().await).await;
        self.refused = answer.is_err();
        answer
    }

    async fn connection(&mut self) -> &mut AnyConnection {
        match &mut self.held {
            Held::Sqlite(held) => held.open().await,
            Held::Postgres(pooled) => pooled
                .connection
                .as_mut()
                .expect("it is taken by commit alone"),
        }
    }
}

/// The one row of an answer.
fn only(rows: Vec<AnyRow>) -> Result<AnyRow, StoreError> {
    let row = rows.into_iter().next();
    Ok(row.ok_or(sqlx::Error::RowNotFound)?)
}

/// A statement without parameters; it is prepared once for each connection.
async fn execute(connection: &mut AnyConnection, sql: &'static str) -> Result<(), StoreError> {
    sqlx::query(sql).execute(connection).await?;
    Ok(())
}
