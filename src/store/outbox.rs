//! What is to be said: committed with its cause, sent afterwards, settled once.

use super::cells::Cells;
use super::dialect::Dialect;
use super::table::{Cell, Type};
use super::{Buttons, StoreError, Work, only};
use crate::domain::Instant;
use crate::domain::household::Chat;
use crate::domain::message::{Lane, Message, No};
use sqlx::any::AnyRow;
use sqlx::{AssertSqlSafe, Row};

/// A message on its way into the outbox.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToSend {
    /// The household that it speaks of.
    pub household: Option<i64>,
    /// The carer it is for; 0 for others.
    pub carer: No,
    /// Where it goes; none: to the clinic's chat, wherever that is by then.
    pub chat: Option<Chat>,
    /// Language code.
    pub language: String,
    /// What it says.
    pub message: Message,
    /// What it follows from, such as `inbox 12`: to be found in the log.
    pub cause: String,
}

/// A message that is ours to send until its lease ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claimed {
    /// Its number.
    pub id: i64,
    /// The household that it speaks of.
    pub household: Option<i64>,
    /// The carer it is for; 0 for others.
    pub carer: No,
    /// Where it goes.
    pub chat: Chat,
    /// Language code.
    pub language: String,
    /// What it says.
    pub message: Message,
    /// Which of its buttons still apply.
    pub buttons: Buttons,
    /// What it follows from.
    pub cause: String,
    /// When it was decided on.
    pub created_at: Instant,
    /// How often it was tried before.
    pub tries: u32,
    /// From then on anybody may claim it.
    pub lease_until: Instant,
}

/// How a try to send ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Settled {
    /// It was sent.
    Sent {
        /// The platform's number.
        external_id: String,
        /// Where it went: answers to it come from there.
        chat: Chat,
        /// The buttons that it went with.
        buttons: Buttons,
    },
    /// It was of no use any more.
    Late,
    /// The chat is closed to us.
    Gone,
    /// The platform does not take it.
    Refused,
    /// It is tried again.
    Again {
        /// Not before this.
        not_before: Instant,
    },
}

/// What was claimed.
#[derive(Debug, Default)]
pub struct Claims {
    /// In the order in which they are to be sent.
    pub messages: Vec<Claimed>,
    /// Numbers of those that were written by another version of the program.
    pub unreadable: Vec<i64>,
}

/// What is read of a message to send it, its household first. Where the clinic's messages
/// go is looked up anew for each try: the clinic may have moved.
const CLAIMED: [&str; 11] = [
    "outbox.household",
    "outbox.id",
    "outbox.carer",
    "coalesce(outbox.channel, (select channel from clinic_chat where clinic = $1))",
    "coalesce(outbox.address, (select address from clinic_chat where clinic = $1))",
    "outbox.language",
    "outbox.message",
    "outbox.created_at",
    "outbox.tries",
    "outbox.buttons",
    "outbox.cause",
];

/// A message of clinic `$1` that waits, is nobody's and has somewhere to go at `$2`.
///
/// An instant further ahead than any that is ever given (an hour for a try, a
/// minute for a lease), or a message from the future, is of a clock that was set
/// back since: it counts as passed. By five minutes clocks of workers may differ.
pub(super) const CLAIMABLE: &str = "o.clinic = $1 and o.state = 'waiting' \
    and (o.next_try_at <= $2 or o.next_try_at > $2 + 3900000 or o.created_at > $2 + 300000) \
    and (o.lease_until is null or o.lease_until <= $2 or o.lease_until > $2 + 360000) \
    and (o.channel is not null or exists (select 1 from clinic_chat where clinic = $1))";

/// Of one chat only the oldest may be sent, except that what is urgent goes past what is not.
/// Messages to the clinic have no address: they are of one chat as well.
///
/// PostgreSQL is kept from joining all that waits with all that waits (`offset 0`: seven
/// seconds against milliseconds with 10,000 waiting), and from seeking a chat's messages by
/// any index but `outbox_chat`: that is the only one with this condition, and nothing else is
/// compared in a way that an index knows (minutes, where the plan was made for 200 waiting).
pub(super) fn first_of_its_chat(dialect: Dialect) -> String {
    let waits = waits_in_its_chat(dialect, "earlier.state");
    let id = match dialect {
        Dialect::Sqlite => "earlier.id",
        Dialect::Postgres => "earlier.id + 0",
    };
    format!(
        "not exists (select 1 from outbox earlier \
         where {waits} and {id} < o.id and earlier.lane <= o.lane \
         and earlier.clinic = o.clinic \
         and coalesce(earlier.channel, '') = coalesce(o.channel, '') \
         and coalesce(earlier.address, '') = coalesce(o.address, '') limit 1 offset 0)"
    )
}

/// Whether a message that is looked up by its chat waits: so says `outbox_chat`.
fn waits_in_its_chat(dialect: Dialect, state: &str) -> String {
    match dialect {
        Dialect::Sqlite => format!("{state} = 'waiting'"),
        Dialect::Postgres => format!("case when {state} = 'waiting' then true end"),
    }
}

/// Whether a message that is looked up by its number waits. Said in a way that no index knows:
/// few messages wait most of the time, so PostgreSQL would read all that do by an index of
/// them, rather than look each of a hundred up (8.4 ms against 1.6 with 14,000 waiting).
const WAITS_STILL: &str = "case outbox.state when 'waiting' then 1 end = 1";

/// What is told of a message when it comes into the outbox.
const COLUMNS: [(&str, Type); 12] = [
    ("household", Type::Int),
    ("carer", Type::Int),
    ("channel", Type::Text),
    ("address", Type::Text),
    ("language", Type::Text),
    ("kind", Type::Text),
    ("message", Type::Text),
    ("lane", Type::Int),
    ("created_at", Type::Int),
    ("useful_until", Type::Int),
    ("buttons", Type::Int),
    ("cause", Type::Text),
];

/// When a message of the outbox, `o`, may be sent.
pub(super) fn may_go_at(dialect: Dialect) -> String {
    dialect.later_of("o.next_try_at", "coalesce(o.lease_until, 0)")
}

impl Claims {
    fn read(&mut self, answer: Vec<AnyRow>, lease_until: Instant) -> Result<(), StoreError> {
        let answer = only(answer)?;
        for row in Cells::all("message", answer.try_get(0)?)? {
            match claimed(row, lease_until) {
                Ok((_, Some(message))) => self.messages.push(message),
                Ok((id, None)) => self.unreadable.push(id),
                Err(error) => unreadable(&error),
            }
        }
        Ok(())
    }
}

fn unreadable(error: &StoreError) {
    tracing::error!(%error, "messages that were claimed cannot be read");
}

/// A row's number, and its message where it can be read.
fn claimed(mut row: Cells, lease_until: Instant) -> Result<(i64, Option<Claimed>), StoreError> {
    let household = row.maybe_int()?;
    let id = row.int()?;
    Ok((id, readable(id, household, &mut row, lease_until).ok()))
}

fn readable(
    id: i64,
    household: Option<i64>,
    row: &mut Cells,
    lease_until: Instant,
) -> Result<Claimed, StoreError> {
    let carer = No::try_from(row.int()?).unwrap_or(0);
    let chat = Chat {
        channel: row.text()?,
        address: row.text()?,
    };
    let (language, message) = (row.text()?, row.json()?);
    let created_at = Instant::from_timestamp_millis(row.int()?).unwrap_or_default();
    let tries = u32::try_from(row.int()?).unwrap_or(u32::MAX);
    Ok(Claimed {
        id,
        household,
        carer,
        chat,
        language,
        message,
        buttons: Buttons::from_column(row.int()?),
        cause: row.text()?,
        created_at,
        tries,
        lease_until,
    })
}

impl Work {
    /// Puts a clinic's messages into the outbox, in order.
    ///
    /// # Errors
    /// The database fails.
    pub async fn enqueue(
        &mut self,
        clinic: &str,
        messages: &[ToSend],
        now: Instant,
    ) -> Result<(), StoreError> {
        let mut rows: Vec<Vec<Cell>> = Vec::new();
        for to_send in messages {
            let message = &to_send.message;
            let lane = match message.lane {
                Lane::Emergency => 0_u32,
                Lane::Prompt => 1,
                Lane::Ordinary => 2,
            };
            rows.push(vec![
                to_send.household.into(),
                to_send.carer.into(),
                to_send
                    .chat
                    .as_ref()
                    .map(|chat| chat.channel.as_str())
                    .into(),
                to_send
                    .chat
                    .as_ref()
                    .map(|chat| chat.address.as_str())
                    .into(),
                to_send.language.as_str().into(),
                message.kind.name().into(),
                serde_json::to_string(message)?.into(),
                lane.into(),
                now.timestamp_millis().into(),
                message.useful_until.map(|at| at.timestamp_millis()).into(),
                to_send
                    .household
                    .map_or(Cell::Int(0), |_| Buttons::all(message).cell()),
                to_send.cause.as_str().into(),
            ]);
        }
        let dialect = self.dialect();
        let values: Vec<String> = COLUMNS
            .iter()
            .enumerate()
            .map(|(place, (_, kind))| match kind {
                Type::Int => dialect.int("e", place),
                Type::Text => dialect.text("e", place),
            })
            .collect();
        let names: Vec<&str> = COLUMNS.iter().map(|(name, _)| *name).collect();
        let sql = format!(
            "insert into outbox (clinic, {}, next_try_at, tries, state) \
             select $2, {}, {}, 0, 'waiting' from {}",
            names.join(", "),
            values.join(", "),
            values[8],
            dialect.elements("$1", "e"),
        );
        self.write_rows(&sql, &rows, [clinic.into()]).await
    }

    /// Takes messages to send until the lease ends: urgent lanes first, and of
    /// one chat only the oldest, so that a household's messages keep their order.
    /// What was done before in this transaction is committed with it.
    ///
    /// # Errors
    /// The database fails; then nothing of it lasts.
    pub async fn commit_and_claim(
        self,
        clinic: &str,
        now: Instant,
        lease_until: Instant,
        most: u32,
    ) -> Result<Claims, StoreError> {
        let dialect = self.dialect();
        let first = format!(
            "select o.id from outbox o where {CLAIMABLE} and {} \
             order by o.lane, o.id limit $4{}",
            first_of_its_chat(dialect),
            dialect.skip_locked()
        );
        let told = CLAIMED.map(str::to_owned);
        // A column that no index knows: PostgreSQL then changes none of them for it.
        let sql = dialect.claim("outbox", &first, "lease_until = $3", &told);
        let values = [
            clinic.into(),
            now.timestamp_millis().into(),
            lease_until.timestamp_millis().into(),
            most.into(),
        ];
        let answer = self.commit_asking(&sql, values).await?;
        let mut claims = Claims::default();
        // It is committed by now: what cannot be read must not make it seem to have failed.
        if let Err(error) = claims.read(answer, lease_until) {
            unreadable(&error);
        }
        claims.messages.sort_by_key(|c| (c.message.lane, c.id));
        Ok(claims)
    }

    /// Settles messages that were claimed.
    pub async fn settle_outbox(
        &mut self,
        settled: &[(i64, Settled)],
        now: Instant,
    ) -> Result<(), StoreError> {
        let now = now.timestamp_millis();
        let rows: Vec<Vec<Cell>> = settled
            .iter()
            .map(|(id, how)| {
                let state = match how {
                    Settled::Sent { .. } => "sent",
                    Settled::Late => "late",
                    Settled::Gone => "gone",
                    Settled::Refused => "refused",
                    Settled::Again { .. } => "waiting",
                };
                let (external, chat, shown) = match how {
                    Settled::Sent {
                        external_id,
                        chat,
                        buttons,
                    } => (Some(external_id.as_str()), Some(chat), buttons.cell()),
                    _ => (None, None, Cell::Null),
                };
                let next = match how {
                    Settled::Again { not_before } => Some(not_before.timestamp_millis()),
                    _ => None,
                };
                let at = (state != "waiting").then_some(now);
                vec![
                    (*id).into(),
                    state.into(),
                    external.into(),
                    next.into(),
                    at.into(),
                    chat.map(|chat| chat.channel.as_str()).into(),
                    chat.map(|chat| chat.address.as_str()).into(),
                    shown,
                ]
            })
            .collect();
        let dialect = self.dialect();
        let sql = format!(
            "update outbox set lease_until = null, tries = tries + 1, \
               state = {state}, external_id = {external}, settled_at = {settled}, \
               next_try_at = coalesce({next}, next_try_at), \
               channel = coalesce({channel}, channel), address = coalesce({address}, address), \
               buttons_shown = coalesce({shown}, buttons_shown) \
             from {elements} where {this} and {WAITS_STILL}",
            elements = dialect.elements("$1", "s"),
            this = dialect.looked_up("outbox.id", &dialect.int("s", 0)),
            state = dialect.text("s", 1),
            external = dialect.text("s", 2),
            next = dialect.int("s", 3),
            settled = dialect.int("s", 4),
            channel = dialect.text("s", 5),
            address = dialect.text("s", 6),
            shown = dialect.int("s", 7),
        );
        self.write_rows(&sql, &rows, []).await
    }

    /// Sends what waits for one chat of a clinic to another address.
    ///
    /// # Errors
    /// The database fails.
    pub async fn readdress(
        &mut self,
        clinic: &str,
        from: &Chat,
        to: &str,
    ) -> Result<(), StoreError> {
        let waits = waits_in_its_chat(self.dialect(), "state");
        let sql = format!(
            "update outbox set address = $1, lease_until = null where {waits} \
             and clinic = $4 and coalesce(channel, '') = $2 and coalesce(address, '') = $3"
        );
        sqlx::query(AssertSqlSafe(sql))
            .bind(to.to_owned())
            .bind(from.channel.clone())
            .bind(from.address.clone())
            .bind(clinic.to_owned())
            .execute(self.db().await?)
            .await?;
        Ok(())
    }

    /// A message that a clinic sent, by its chat and the platform's number:
    /// whom it speaks of and what it says.
    ///
    /// # Errors
    /// The database fails.
    pub async fn sent_message(
        &mut self,
        clinic: &str,
        chat: &Chat,
        external_id: &str,
    ) -> Result<Option<(Option<i64>, Message)>, StoreError> {
        let row = sqlx::query(
            "select household, message from outbox \
             where clinic = $4 and channel = $1 and address = $2 and external_id = $3 \
             order by id desc limit 1",
        )
        .bind(chat.channel.clone())
        .bind(chat.address.clone())
        .bind(external_id.to_owned())
        .bind(clinic.to_owned())
        .fetch_optional(self.db().await?)
        .await?;
        let Some(row) = row else { return Ok(None) };
        let message: String = row.try_get(1)?;
        Ok(Some((row.try_get(0)?, serde_json::from_str(&message)?)))
    }

    /// How many messages of each state there are: for tests and for watching it run.
    pub async fn outbox_counts(&mut self) -> Result<Vec<(String, i64)>, StoreError> {
        let rows = sqlx::query("select state, count(*) from outbox group by state order by state")
            .fetch_all(self.db().await?)
            .await?;
        rows.iter()
            .map(|row| Ok((row.try_get(0)?, row.try_get(1)?)))
            .collect()
    }
}
