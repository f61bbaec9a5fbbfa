//! Buttons that no longer apply are taken off the phones: in the transaction
//! that settles a matter it is noted which, and afterwards the platform is asked.

use super::Engine;
use super::tried::Outcome;
use crate::channel::{Channel, OutgoingButton, Sent};
use crate::domain::Instant;
use crate::domain::decide::still_offered;
use crate::domain::household::{Chat, Household};
use crate::domain::message::{Kind, Message, No, Recipient, Tap};
use crate::domain::policy::Policy;
use crate::store::{Buttons, Changed, Claimed, StoreError, ToChange, WithButtons};
use crate::wording::RenderedButton;
use chrono::TimeDelta;
use std::collections::BTreeSet;
use std::sync::Arc;

/// How many messages are changed at a time.
const AT_ONCE: u32 = 30;
/// A connection that failed is tried again after this.
const AFTER_FAILURE: TimeDelta = TimeDelta::seconds(30);
/// A message that cannot be read is looked at again after this.
const UNREADABLE: TimeDelta = TimeDelta::hours(1);

/// The buttons of a message that still apply. A walk through the clinic's
/// steps goes on from its newest message only.
pub(super) fn still_applying(
    shown: &WithButtons,
    household: &Household,
    walks_on: &[No],
    now: Instant,
    policy: &Policy,
) -> Buttons {
    // Whoever was taken off has nothing to answer here.
    if shown.carer > 0 && !household.carers.contains_key(&shown.carer) {
        return Buttons::none();
    }
    let left_behind = walks_on.contains(&shown.carer);
    Buttons::of(&shown.message, |place| {
        let tap = shown.message.buttons[place].tap;
        shown.buttons.contains(place)
            && still_offered(household, tap, now, policy)
            && !(left_behind && is_step(tap))
    })
}

/// Whether what a message asks for was settled while it waited: a reminder to
/// draw a dose that another carer has given by then must not be sent.
pub(super) fn is_settled(claimed: &Claimed) -> bool {
    let asks = matches!(
        claimed.message.kind,
        Kind::DoseDue | Kind::DoseAgain | Kind::VialMixNext
    );
    let mut places = 0..claimed.message.buttons.len();
    asks && !places.is_empty() && !places.any(|place| claimed.buttons.contains(place))
}

/// The carers to whom a step is about to be said.
pub(super) fn walking<'m>(messages: impl Iterator<Item = &'m Message>) -> Vec<No> {
    messages
        .filter(|message| message.buttons.iter().any(|button| is_step(button.tap)))
        .filter_map(|message| match message.to {
            Recipient::Carer(no) => Some(no),
            _ => None,
        })
        .collect()
}

fn is_step(tap: Tap) -> bool {
    matches!(tap, Tap::Step { .. })
}

/// Those of a message's buttons that apply, by their place, as a platform sees them.
pub(super) fn applying(
    buttons: Vec<RenderedButton>,
    applies: impl Fn(usize) -> bool,
) -> Vec<OutgoingButton> {
    let buttons = buttons.into_iter().enumerate();
    buttons
        .filter(|(place, _)| applies(*place))
        .map(|(_, button)| OutgoingButton {
            label: button.label,
            data: button.data,
        })
        .collect()
}

/// A change of a message's buttons that was tried, and how that ended.
pub(super) struct TriedChange {
    pub id: i64,
    chat: Chat,
    buttons: Buttons,
    outcome: Outcome,
}

impl Engine {
    /// Takes the turns of messages off which buttons are to be taken, and about which
    /// nobody is already; what is given asks the platform, by message.
    pub(super) async fn begin_to_change(
        &self,
        changing: &BTreeSet<i64>,
        now: Instant,
    ) -> Result<Vec<(i64, impl Future<Output = TriedChange> + Send + use<>)>, StoreError> {
        let most = AT_ONCE + u32::try_from(changing.len()).unwrap_or(0);
        let mut reading = self.store.begin_to_read().await?;
        let due = reading.buttons_to_change(self.key(), now, most).await?;
        reading.end_reading().await?;
        self.put_off_changes(&due.unreadable, now).await?;
        let new = due
            .messages
            .into_iter()
            .filter(|one| !changing.contains(&one.id));
        Ok(new
            .map(|one| (one.id, self.begin_change(one, now)))
            .collect())
    }

    /// A message of another version of the program must not keep all other phones as they
    /// are: that version may be back in an hour.
    async fn put_off_changes(
        &self,
        unreadable: &[(i64, StoreError)],
        now: Instant,
    ) -> Result<(), StoreError> {
        if unreadable.is_empty() {
            return Ok(());
        }
        let not_before = now + UNREADABLE;
        let mut put_off = Vec::new();
        for (id, error) in unreadable {
            tracing::error!(
                %error,
                outbox = id,
                "a message cannot be read; its buttons stay as they are"
            );
            put_off.push((*id, Changed::Again { not_before }));
        }
        let mut work = self.store.begin().await?;
        work.settle_buttons(&put_off).await?;
        work.commit().await
    }

    fn begin_change(
        &self,
        one: ToChange,
        now: Instant,
    ) -> impl Future<Output = TriedChange> + Send + use<> {
        let begun = self.may_be_changed(&one, now).map(|channel| {
            let rendered = self.wording.render(&one.message, &one.language);
            let applies = |place| one.buttons.contains(place);
            (channel, applying(rendered.buttons, applies))
        });
        async move {
            let (address, message) = (&one.chat.address, &one.external_id);
            let outcome = match begun {
                Ok((channel, buttons)) => {
                    let sent = channel.change_buttons(address, message, &buttons);
                    Outcome::Answered(sent.await)
                }
                Err(outcome) => outcome,
            };
            TriedChange {
                id: one.id,
                chat: one.chat,
                buttons: one.buttons,
                outcome,
            }
        }
    }

    fn may_be_changed(&self, one: &ToChange, now: Instant) -> Result<Arc<dyn Channel>, Outcome> {
        let channel = self.channel(&one.chat.channel);
        let channel = channel.ok_or(Outcome::NoChannel)?;
        if channel.is_paced() {
            let turn = self.pace().take_spare(&one.chat.address, now);
            turn.map_err(Outcome::NotYet)?;
        }
        Ok(channel.clone())
    }

    /// Settles changes that were tried.
    pub(super) async fn settle_changes(
        &self,
        tried: &[TriedChange],
        now: Instant,
    ) -> Result<(), StoreError> {
        let settled: Vec<(i64, Changed)> = tried
            .iter()
            .map(|one| (one.id, self.judge_change(one, now)))
            .collect();
        let mut work = self.store.begin().await?;
        work.settle_buttons(&settled).await?;
        work.commit().await
    }

    fn judge_change(&self, tried: &TriedChange, now: Instant) -> Changed {
        match &tried.outcome {
            Outcome::NotYet(free) => Changed::Again { not_before: *free },
            Outcome::Answered(Sent::Later { after }) => {
                let wait = TimeDelta::from_std(*after).unwrap_or(AFTER_FAILURE);
                self.pace().hold(&tried.chat.address, now, now + wait);
                Changed::Again {
                    not_before: now + wait,
                }
            }
            Outcome::Answered(Sent::Unclear { .. }) => Changed::Again {
                not_before: now + AFTER_FAILURE,
            },
            // Gone, moved or refused: an old button is answered as such when it is tapped.
            // Where a channel is not running its phones show nothing.
            _ => Changed::Done(tried.buttons),
        }
    }
}
