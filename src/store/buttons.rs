//! Which buttons of a message that was sent still apply, and what the phone shows.

use super::cells::Cells;
use super::table::{Cell, Table, Type::Int, Type::Text};
use super::{StoreError, Work};
use crate::domain::Instant;
use crate::domain::household::Chat;
use crate::domain::message::{Message, No};

/// Which of a message's buttons: one bit for each, the first button the lowest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Buttons(i64);

impl Buttons {
    /// All buttons of a message; those past the 62nd are never taken off.
    pub fn all(message: &Message) -> Buttons {
        Buttons::of(message, |_| true)
    }

    /// No button.
    pub fn none() -> Buttons {
        Buttons(0)
    }

    /// The buttons of a message for which something holds, by their place.
    pub fn of(message: &Message, holds: impl Fn(usize) -> bool) -> Buttons {
        let places = 0..message.buttons.len().min(62);
        Buttons(
            places
                .filter(|place| holds(*place))
                .fold(0, |bits, place| bits | 1 << place),
        )
    }

    /// Whether the button at a place is among them.
    pub fn contains(self, place: usize) -> bool {
        place >= 62 || self.0 >> place & 1 == 1
    }

    pub(super) fn cell(self) -> Cell {
        Cell::Int(self.0)
    }

    pub(super) fn from_column(bits: i64) -> Buttons {
        Buttons(bits)
    }
}

/// A message that has buttons which applied when it was last looked at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WithButtons {
    /// Its number in the outbox.
    pub id: i64,
    /// The household that it speaks of.
    pub household: i64,
    /// The carer it is for; 0 for the clinic.
    pub carer: No,
    /// What it says.
    pub message: Message,
    /// The buttons that applied.
    pub buttons: Buttons,
}

/// A message whose buttons on the phone are not those that apply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToChange {
    /// Its number in the outbox.
    pub id: i64,
    /// Where it is.
    pub chat: Chat,
    /// The platform's number of it.
    pub external_id: String,
    /// Language code.
    pub language: String,
    /// What it says.
    pub message: Message,
    /// The buttons that apply.
    pub buttons: Buttons,
}

/// Messages whose buttons are to be changed.
#[derive(Debug, Default)]
pub struct ButtonsDue {
    /// Those whose oldest try comes first.
    pub messages: Vec<ToChange>,
    /// Numbers of those that were written by another version of the program, and what is
    /// wrong with them.
    pub unreadable: Vec<(i64, StoreError)>,
}

/// How a try to change a message's buttons ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Changed {
    /// The phone shows these, or the platform will never change them.
    Done(Buttons),
    /// It is tried again.
    Again {
        /// Not before this.
        not_before: Instant,
    },
}

/// What is read of such a message, with the rest of its household.
pub(super) const WITH_BUTTONS: Table = Table {
    name: "outbox",
    key: 2,
    columns: &[
        ("household", Int),
        ("id", Int),
        ("carer", Int),
        ("message", Text),
        ("buttons", Int),
    ],
};

/// Such a message. What an older program wrote, and this one cannot read, keeps its buttons.
pub(super) fn with_buttons(mut row: Cells) -> Result<Option<WithButtons>, StoreError> {
    let (household, id, carer) = (row.int()?, row.int()?, row.int()?);
    let Ok(message) = row.json() else {
        return Ok(None);
    };
    Ok(Some(WithButtons {
        id,
        household,
        carer: No::try_from(carer).unwrap_or(0),
        message,
        buttons: Buttons::from_column(row.int()?),
    }))
}

fn to_change(id: i64, mut row: Cells) -> Result<ToChange, StoreError> {
    Ok(ToChange {
        id,
        chat: Chat {
            channel: row.text()?,
            address: row.text()?,
        },
        external_id: row.text()?,
        language: row.text()?,
        message: row.json()?,
        buttons: Buttons::from_column(row.int()?),
    })
}

impl Work {
    /// Lays down which buttons of messages apply from now on.
    pub async fn set_buttons(&mut self, messages: &[(i64, Buttons)]) -> Result<(), StoreError> {
        let rows: Vec<[Cell; 2]> = messages
            .iter()
            .map(|(id, buttons)| [(*id).into(), buttons.cell()])
            .collect();
        let dialect = self.dialect();
        let sql = format!(
            "update outbox set buttons = {} from {} where {}",
            dialect.int("s", 1),
            dialect.elements("$1", "s"),
            dialect.looked_up("outbox.id", &dialect.int("s", 0)),
        );
        self.write_rows(&sql, &rows, []).await
    }

    /// A clinic's messages whose buttons on the phone are to be changed, the
    /// oldest try first. Two workers may get the same: to change a message
    /// twice does no harm.
    pub async fn buttons_to_change(
        &mut self,
        clinic: &str,
        now: Instant,
        most: u32,
    ) -> Result<ButtonsDue, StoreError> {
        let columns = [
            "household",
            "id",
            "channel",
            "address",
            "external_id",
            "language",
            "message",
            "buttons",
        ];
        let due = format!(
            "outbox where clinic = $1 and state = 'sent' and buttons <> buttons_shown \
             and next_try_at <= $2 order by next_try_at, id limit {most}"
        );
        let values = [clinic.into(), now.timestamp_millis().into()];
        let found = self.list(&columns, &due, values).await?;
        let mut due = ButtonsDue::default();
        for mut row in Cells::all("message", &found)? {
            row.maybe_int()?;
            let id = row.int()?;
            match to_change(id, row) {
                Ok(message) => due.messages.push(message),
                Err(error) => due.unreadable.push((id, error)),
            }
        }
        Ok(due)
    }

    /// Settles what was tried with messages' buttons.
    pub async fn settle_buttons(&mut self, tried: &[(i64, Changed)]) -> Result<(), StoreError> {
        let rows: Vec<[Cell; 3]> = tried
            .iter()
            .map(|(id, how)| match how {
                Changed::Done(shown) => [(*id).into(), shown.cell(), Cell::Null],
                Changed::Again { not_before } => {
                    let next = not_before.timestamp_millis();
                    [(*id).into(), Cell::Null, next.into()]
                }
            })
            .collect();
        let dialect = self.dialect();
        let sql = format!(
            "update outbox set buttons_shown = coalesce({}, buttons_shown), \
               next_try_at = coalesce({}, next_try_at) from {} where {}",
            dialect.int("s", 1),
            dialect.int("s", 2),
            dialect.elements("$1", "s"),
            dialect.looked_up("outbox.id", &dialect.int("s", 0)),
        );
        self.write_rows(&sql, &rows, []).await
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::message::{Kind, Label, Recipient, Tap};

    #[test]
    fn a_bit_stands_for_a_button() {
        let question = 1;
        let message = Message::new(Recipient::Carer(1), Kind::Confirm)
            .button(
                Label::Yes,
                Tap::Choose {
                    question,
                    option: 0,
                },
            )
            .button(Label::No, Tap::Neither { question });
        let all = Buttons::all(&message);
        assert!(all.contains(0) && all.contains(1) && !all.contains(2));
        let second = Buttons::of(&message, |place| place == 1);
        assert!(!second.contains(0) && second.contains(1));
        assert_ne!(all, second);
    }
}
