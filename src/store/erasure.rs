//! Taking a person out of the tables, and letting go of old words.

use super::{Caused, StoreError, Work};
use crate::domain::Instant;
use crate::domain::arrival::{Arrival, Body};
use crate::domain::change::Change;
use crate::domain::erasure::{ERASED, People};
use crate::domain::household::{Chat, Household};
use crate::domain::message::Message;
use crate::domain::redaction::erased;
use sqlx::Row;
use std::collections::BTreeSet;

/// A person who is erased: where their words may stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Erasing {
    /// The clinic that keeps it: what another one has is not ours.
    pub clinic: String,
    /// The household.
    pub household: i64,
    /// Names of the people at home, and where they are called.
    pub names: Vec<String>,
    /// Every chat that any of them ever had.
    pub chats: BTreeSet<Chat>,
    /// Rows of the inbox that led to something in the household.
    pub arrivals: BTreeSet<i64>,
    /// When.
    pub at: Instant,
    /// Who at the clinic does it.
    pub by: String,
}

/// How many rows were, or would be, written anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Erased {
    /// Entries of the journal that held a name, an address or words.
    pub entries: u64,
    /// Messages that came in.
    pub arrivals: u64,
    /// Messages that went out.
    pub messages: u64,
}

impl Work {
    /// Writes a household's journal anew without the people, and takes them out
    /// of what came in and went out. What waits to be sent to them never is.
    pub async fn erase_person(
        &mut self,
        erasing: &Erasing,
        people: &People,
    ) -> Result<Erased, StoreError> {
        let entries = self.erase_from_journal(erasing, people).await?;
        let names = self.names(erasing).await?;
        let arrivals = self.erase_arrivals(erasing, &names).await?;
        let messages = self.erase_messages(erasing, &names).await?;
        for name in &names {
            // Questions and answers of an enrolment that never came to its end: no record yet.
            sqlx::query(
                "delete from enrolment where clinic = $2 and replace(answers, $1, '') <> answers",
            )
            .bind(in_json(name))
            .bind(erasing.clinic.clone())
            .execute(self.db().await?)
            .await?;
        }
        for chat in &erasing.chats {
            sqlx::query("delete from stranger where channel = $1 and address = $2 and clinic = $3")
                .bind(chat.channel.clone())
                .bind(chat.address.clone())
                .bind(erasing.clinic.clone())
                .execute(self.db().await?)
                .await?;
        }
        sqlx::query(
            "update invitation set expires_at = $1 where household = $2 and expires_at > $1",
        )
        .bind(erasing.at.timestamp_millis())
        .bind(erasing.household)
        .execute(self.db().await?)
        .await?;
        Ok(Erased {
            entries,
            arrivals,
            messages,
        })
    }

    async fn erase_from_journal(
        &mut self,
        erasing: &Erasing,
        people: &People,
    ) -> Result<u64, StoreError> {
        let rows = sqlx::query(
            "select id, change from journal where household = $1 and erasure is null order by id",
        )
        .bind(erasing.household)
        .fetch_all(self.db().await?)
        .await?;
        let mut entries: Vec<(i64, String)> = Vec::new();
        for row in &rows {
            entries.push((row.try_get(0)?, row.try_get(1)?));
        }
        let last = entries.last().map_or(0, |(id, _)| *id);
        let erasure: i64 = sqlx::query(
            "insert into erasure (household, at, erased_by, last_entry) values ($1, $2, $3, $4) \
             returning id",
        )
        .bind(erasing.household)
        .bind(erasing.at.timestamp_millis())
        .bind(erasing.by.clone())
        .bind(last)
        .fetch_one(self.db().await?)
        .await?
        .try_get(0)?;
        let mut changed = 0;
        for (id, written) in entries {
            let without = serde_json::to_string(&erased(&serde_json::from_str(&written)?, people))?;
            changed += u64::from(without != written);
            // Those that held nobody as well: no entry can be rewritten later under this erasure.
            sqlx::query("update journal set change = $1, erasure = $2 where id = $3")
                .bind(without)
                .bind(erasure)
                .bind(id)
                .execute(self.db().await?)
                .await?;
        }
        Ok(changed)
    }

    /// Their names, and what the platform called them.
    async fn names(&mut self, erasing: &Erasing) -> Result<Vec<String>, StoreError> {
        let mut names: BTreeSet<String> = erasing.names.iter().cloned().collect();
        for chat in &erasing.chats {
            let rows = sqlx::query(
                "select arrival from inbox where channel = $1 and address = $2 and clinic = $3",
            )
            .bind(chat.channel.clone())
            .bind(chat.address.clone())
            .bind(erasing.clinic.clone())
            .fetch_all(self.db().await?)
            .await?;
            for row in rows {
                let arrival: String = row.try_get(0)?;
                let arrival: Option<Arrival> = serde_json::from_str(&arrival).ok();
                names.extend(arrival.and_then(|arrival| arrival.sender));
            }
        }
        let mut names: Vec<String> = names.into_iter().filter(|name| !name.is_empty()).collect();
        // A name that holds another goes first.
        names.sort_by_key(|name| std::cmp::Reverse(name.len()));
        Ok(names)
    }

    /// What they wrote, and what led to something in their household, loses its
    /// words; elsewhere only their names go.
    async fn erase_arrivals(
        &mut self,
        erasing: &Erasing,
        names: &[String],
    ) -> Result<u64, StoreError> {
        let answers = self.answers(erasing).await?;
        let rows = sqlx::query(
            "select id, channel, address, arrival from inbox where clinic = $1 order by id",
        )
        .bind(erasing.clinic.clone())
        .fetch_all(self.db().await?)
        .await?;
        let mut erased = 0;
        for row in rows {
            let (id, arrival): (i64, String) = (row.try_get(0)?, row.try_get(3)?);
            let chat = Chat {
                channel: row.try_get(1)?,
                address: row.try_get(2)?,
            };
            let theirs = erasing.chats.contains(&chat);
            let led_here = erasing.arrivals.contains(&id) || answers.hold(id, &chat, &arrival);
            let (address, without) = if theirs || led_here {
                let stub = wordless(&arrival, theirs);
                let address = if theirs { ERASED.into() } else { chat.address };
                (address, serde_json::to_string(&stub)?)
            } else {
                match without_names(&arrival, names) {
                    Some(without) => (chat.address, without),
                    None => continue,
                }
            };
            erased += 1;
            let settles = if theirs {
                Some(erasing.at.timestamp_millis())
            } else {
                None
            };
            sqlx::query(
                "update inbox set address = $1, arrival = $2, \
                 settled_at = case when state = 'waiting' then $3 else settled_at end, \
                 state = case when state = 'waiting' and $3 is not null then 'settled' else state end \
                 where id = $4",
            )
            .bind(address)
            .bind(without)
            .bind(settles)
            .bind(id)
            .execute(self.db().await?)
            .await?;
        }
        Ok(erased)
    }

    /// What came in and led to a message of the household, or answered one.
    async fn answers(&mut self, erasing: &Erasing) -> Result<Answers, StoreError> {
        let rows = sqlx::query(
            "select channel, address, external_id, cause from outbox where household = $1",
        )
        .bind(erasing.household)
        .fetch_all(self.db().await?)
        .await?;
        let mut answers = Answers::default();
        for row in rows {
            let (channel, address): (Option<String>, Option<String>) =
                (row.try_get(0)?, row.try_get(1)?);
            let number: Option<String> = row.try_get(2)?;
            if let (Some(channel), Some(address), Some(number)) = (channel, address, number) {
                answers.answered.insert((Chat { channel, address }, number));
            }
            let cause: String = row.try_get(3)?;
            answers.led.extend(arrival_of(&cause));
        }
        Ok(answers)
    }

    /// What was said of the household or to its chats loses its words; on lists
    /// of many households only the names go.
    async fn erase_messages(
        &mut self,
        erasing: &Erasing,
        names: &[String],
    ) -> Result<u64, StoreError> {
        let rows = sqlx::query(
            "select id, household, carer, channel, address, message, kind from outbox \
             where clinic = $1 order by id",
        )
        .bind(erasing.clinic.clone())
        .fetch_all(self.db().await?)
        .await?;
        let mut erased = 0;
        for row in rows {
            let (id, household): (i64, Option<i64>) = (row.try_get(0)?, row.try_get(1)?);
            let (channel, address): (Option<String>, Option<String>) =
                (row.try_get(3)?, row.try_get(4)?);
            let message: String = row.try_get(5)?;
            let kind: String = row.try_get(6)?;
            let theirs = channel.zip(address).is_some_and(|(channel, address)| {
                erasing.chats.contains(&Chat { channel, address })
            });
            // A list names many; its row names the household that stands first.
            let list = kind == "clinic.digest" || kind == "clinic.board";
            // What speaks of nobody on record may still quote them: a row that could not be handled.
            let quotes = household.is_none() && without_names(&message, names).is_some();
            let of_them = household == Some(erasing.household) || quotes;
            if theirs || (of_them && !list) {
                self.erase_message(id, &message, theirs, erasing.at).await?;
            } else if let Some(without) = without_names(&message, names) {
                sqlx::query("update outbox set message = $1 where id = $2")
                    .bind(without)
                    .bind(id)
                    .execute(self.db().await?)
                    .await?;
            } else {
                continue;
            }
            erased += 1;
        }
        Ok(erased)
    }

    async fn erase_message(
        &mut self,
        id: i64,
        message: &str,
        theirs: bool,
        at: Instant,
    ) -> Result<(), StoreError> {
        sqlx::query(
            "update outbox set message = $1, lease_until = null, buttons = 0, buttons_shown = 0, \
             channel = case when $2 = 1 then null else channel end, \
             address = case when $2 = 1 then null else address end, \
             settled_at = case when state = 'waiting' then $3 else settled_at end, \
             state = case when state = 'waiting' then 'late' else state end where id = $4",
        )
        .bind(bare(message, Buttons::Gone)?)
        .bind(i64::from(theirs))
        .bind(at.timestamp_millis())
        .bind(id)
        .execute(self.db().await?)
        .await?;
        Ok(())
    }

    /// Lets go of the words of rows that were settled before an instant; gives
    /// how many there were, at most so many of each kind. Who wrote, when and
    /// where stays, and what followed stands in the journal.
    pub async fn purge_words(
        &mut self,
        clinic: &str,
        before: Instant,
        now: Instant,
        most: u32,
    ) -> Result<u64, StoreError> {
        const OLD: &str = "settled_at is not null and purged_at is null and settled_at < $1 \
                           and clinic = $3 order by settled_at limit $2";
        let mut purged = 0;
        let sql = format!("select id, arrival from inbox where {OLD}");
        for (id, arrival) in self.old_rows(&sql, clinic, before, most).await? {
            let stub = serde_json::to_string(&wordless(&arrival, false))?;
            sqlx::query("update inbox set arrival = $1, purged_at = $2 where id = $3")
                .bind(stub)
                .bind(now.timestamp_millis())
                .bind(id)
                .execute(self.db().await?)
                .await?;
            purged += 1;
        }
        let sql = format!("select id, message from outbox where {OLD}");
        for (id, message) in self.old_rows(&sql, clinic, before, most).await? {
            // What nobody can read any more has no buttons that could be put into words.
            let sql = "update outbox set message = $1, purged_at = $2, \
                 buttons_shown = case when $1 = '{}' then buttons else buttons_shown end \
                 where id = $3";
            sqlx::query(sql)
                .bind(bare(&message, Buttons::Kept)?)
                .bind(now.timestamp_millis())
                .bind(id)
                .execute(self.db().await?)
                .await?;
            purged += 1;
        }
        Ok(purged)
    }

    async fn old_rows(
        &mut self,
        sql: &str,
        clinic: &str,
        before: Instant,
        most: u32,
    ) -> Result<Vec<(i64, String)>, StoreError> {
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql.to_owned()))
            .bind(before.timestamp_millis())
            .bind(i64::from(most))
            .bind(clinic.to_owned())
            .fetch_all(self.db().await?)
            .await?;
        rows.iter()
            .map(|row| Ok((row.try_get(0)?, row.try_get(1)?)))
            .collect()
    }
}

/// Messages of the household, by which what came in is known as theirs.
#[derive(Default)]
struct Answers {
    answered: BTreeSet<(Chat, String)>,
    led: BTreeSet<i64>,
}

impl Answers {
    /// Whether a row of the inbox led to one of them or answered one.
    fn hold(&self, id: i64, chat: &Chat, arrival: &str) -> bool {
        let read: Option<Arrival> = serde_json::from_str(arrival).ok();
        let reply_to = read.and_then(|arrival| arrival.reply_to);
        self.led.contains(&id)
            || reply_to.is_some_and(|number| self.answered.contains(&(chat.clone(), number)))
    }
}

/// The row of the inbox that a cause names.
fn arrival_of(cause: &str) -> Option<i64> {
    cause.strip_prefix("inbox ")?.parse().ok()
}

/// What of the household's past leads to rows elsewhere.
impl Erasing {
    /// From what the journal of a household tells.
    pub fn of(
        household: &Household,
        people: &People,
        journal: &[Caused],
        (at, by): (Instant, &str),
    ) -> Erasing {
        let mut chats = BTreeSet::new();
        let mut channels = BTreeSet::new();
        let mut arrivals = BTreeSet::new();
        let mut names: BTreeSet<&str> = people.names().chain([household.owner.as_str()]).collect();
        for caused in journal {
            match &caused.change {
                Change::CarerJoined { chat, .. } => {
                    channels.insert(chat.channel.clone());
                    chats.insert(chat.clone());
                }
                Change::CarerMoved { address, .. } => {
                    chats.extend(channels.iter().map(|channel| Chat {
                        channel: channel.clone(),
                        address: address.clone(),
                    }));
                }
                Change::CarerPhone { phone, .. } => names.extend(phone.as_deref()),
                _ => {}
            }
            arrivals.extend(arrival_of(&caused.cause));
        }
        let names = names.into_iter().map(str::to_owned).collect();
        Erasing {
            clinic: household.clinic.clone(),
            household: household.id,
            names,
            chats,
            arrivals,
            at,
            by: by.into(),
        }
    }
}

/// What came in without its words; without its sender as well where that is the person.
fn wordless(arrival: &str, and_sender: bool) -> Arrival {
    let read: Option<Arrival> = serde_json::from_str(arrival).ok();
    let kept = read.filter(|_| !and_sender);
    let known = kept.as_ref();
    Arrival {
        external_id: known.map(|a| a.external_id.clone()).unwrap_or_default(),
        address: known.map_or_else(|| ERASED.into(), |a| a.address.clone()),
        sender: known.and_then(|a| a.sender.clone()),
        sender_id: known.and_then(|a| a.sender_id.clone()),
        reply_to: None,
        body: Body::Text(String::new()),
    }
}

/// What becomes of a message's buttons, which name numbers and nobody.
#[derive(Clone, Copy, PartialEq)]
enum Buttons {
    Kept,
    Gone,
}

/// A message of which only its kind and whom it was for is left. One that this
/// program cannot read is nothing any more.
fn bare(message: &str, buttons: Buttons) -> Result<String, StoreError> {
    let Ok(message) = serde_json::from_str::<Message>(message) else {
        return Ok("{}".into());
    };
    let mut left = Message::new(message.to, message.kind);
    left.lane = message.lane;
    if buttons == Buttons::Kept {
        left.buttons = message.buttons;
    }
    Ok(serde_json::to_string(&left)?)
}

/// A JSON text with names taken out of its strings; none where no name stands in it.
fn without_names(json: &str, names: &[String]) -> Option<String> {
    if !names.iter().any(|name| json.contains(&in_json(name))) {
        return None;
    }
    let mut value: serde_json::Value = serde_json::from_str(json).ok()?;
    let changed = take_out(&mut value, names);
    changed.then(|| value.to_string())
}

/// A name as it stands between the quotes of a JSON string.
fn in_json(name: &str) -> String {
    let quoted = serde_json::Value::from(name).to_string();
    quoted[1..quoted.len() - 1].to_owned()
}

fn take_out(value: &mut serde_json::Value, names: &[String]) -> bool {
    match value {
        serde_json::Value::String(text) => {
            let before = text.clone();
            for name in names {
                *text = replace_word(text, name);
            }
            *text != before
        }
        serde_json::Value::Array(values) => values
            .iter_mut()
            .fold(false, |changed, v| take_out(v, names) | changed),
        serde_json::Value::Object(fields) => fields
            .values_mut()
            .fold(false, |changed, v| take_out(v, names) | changed),
        _ => false,
    }
}

/// `Teo` is somebody in "Teo gave it", and nobody in "Teodora gave it".
fn replace_word(text: &str, name: &str) -> String {
    let mut left = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(name) {
        let (before, found) = rest.split_at(at);
        let after = &found[name.len()..];
        left.push_str(before);
        let word = |c: char| c.is_alphanumeric();
        let alone =
            !left.chars().next_back().is_some_and(word) && !after.chars().next().is_some_and(word);
        left.push_str(if alone { ERASED } else { name });
        rest = after;
    }
    left + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_goes_as_a_word_and_stays_within_another() {
        let names = ["Teo".to_owned()];
        let taken = |text: &str| without_names(&serde_json::Value::from(text).to_string(), &names);
        assert_eq!(taken("Call Teo."), Some("\"Call erased.\"".into()));
        assert_eq!(
            taken("Teo/Maren: Teo"),
            Some("\"erased/Maren: erased\"".into())
        );
        assert_eq!(taken("Teodora"), None);
        assert_eq!(taken("Matteo"), None);
    }

    #[test]
    fn a_name_is_found_however_json_writes_it() {
        let names = ["Ana \"Nita\" Ruiz".to_owned()];
        let json = serde_json::json!({ "text": ["x", "Ana \"Nita\" Ruiz: late"] }).to_string();
        let without = without_names(&json, &names).unwrap();
        assert_eq!(without, r#"{"text":["x","erased: late"]}"#);
    }

    #[test]
    fn of_a_message_only_its_kind_is_left() {
        use crate::domain::message::{Kind, Recipient};
        let message = Message::new(Recipient::Clinic, Kind::ClinicQuestion)
            .about("Juniper")
            .fact("text", "she is fine");
        let left = bare(&serde_json::to_string(&message).unwrap(), Buttons::Gone).unwrap();
        let left: Message = serde_json::from_str(&left).unwrap();
        assert_eq!(left, Message::new(Recipient::Clinic, Kind::ClinicQuestion));
    }
}
