//! Buttons that no longer apply are taken off the phones: in the transaction
//! that settles a matter it is noted which, and afterwards the platform is asked.

use super::Engine;
use crate::channel::{OutgoingButton, Sent};
use crate::domain::Instant;
use crate::domain::decide::still_offered;
use crate::domain::household::Household;
use crate::domain::message::{Kind, Message, No, Recipient, Tap};
use crate::domain::policy::Policy;
use crate::store::{Buttons, Changed, Claimed, StoreError, ToChange, WithButtons};
use chrono::TimeDelta;
use futures_util::future::join_all;

/// How many messages are changed at a time.
const AT_ONCE: u32 = 30;
/// A connection that failed is tried again after this.
const AFTER_FAILURE: TimeDelta = TimeDelta::seconds(30);

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

impl Engine {
    /// Takes buttons off messages where they no longer apply; gives how many were tried.
    pub(super) async fn change_buttons(&self, now: Instant) -> Result<usize, StoreError> {
        let mut reading = self.store.begin_to_read().await?;
        let waiting = reading.buttons_to_change(self.key(), now, AT_ONCE).await?;
        reading.end_reading().await?;
        if waiting.is_empty() {
            return Ok(0);
        }
        let tried = join_all(waiting.iter().map(|one| self.change_once(one, now))).await;
        let settled: Vec<(i64, Changed)> = waiting.iter().map(|one| one.id).zip(tried).collect();
        let mut work = self.store.begin().await?;
        work.settle_buttons(&settled).await?;
        work.commit().await?;
        Ok(settled.len())
    }

    async fn change_once(&self, one: &ToChange, now: Instant) -> Changed {
        let done = Changed::Done(one.buttons);
        // Where a channel is not running its phones show nothing.
        let Some(channel) = self.channel(&one.chat.channel) else {
            return done;
        };
        if channel.is_paced()
            && let Err(not_before) = self.pace().take_spare(&one.chat.address, now)
        {
            return Changed::Again { not_before };
        }
        let rendered = self.wording.render(&one.message, &one.language);
        let buttons: Vec<OutgoingButton> = rendered
            .buttons
            .into_iter()
            .enumerate()
            .filter(|(place, _)| one.buttons.contains(*place))
            .map(|(_, button)| OutgoingButton {
                label: button.label,
                data: button.data,
            })
            .collect();
        match channel
            .change_buttons(&one.chat.address, &one.external_id, &buttons)
            .await
        {
            Sent::Later { after } => {
                let wait = TimeDelta::from_std(after).unwrap_or(AFTER_FAILURE);
                self.pace().hold(&one.chat.address, now, now + wait);
                Changed::Again {
                    not_before: now + wait,
                }
            }
            Sent::Unclear { .. } => Changed::Again {
                not_before: now + AFTER_FAILURE,
            },
            // Gone, moved or refused: an old button is answered as such when it is tapped.
            _ => done,
        }
    }
}
