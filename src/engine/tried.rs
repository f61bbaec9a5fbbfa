//! What the end of a try to send means: for the message, for its household, for the clinic.

use super::Engine;
use super::health::add;
use super::settling::Settling;
use crate::channel::{Outgoing, Sent};
use crate::domain::Instant;
use crate::domain::arrival::Body;
use crate::domain::decide::{Input, Undelivered};
use crate::domain::household::Chat;
use crate::domain::ladder::is_alert;
use crate::domain::message::{Kind, Message, Recipient};
use crate::store::{Claimed, Settled, StoreError};
use chrono::TimeDelta;
use std::time::Duration;

/// After so many refusals a message to the clinic is given up, and the clinic told.
const REFUSALS: u32 = 3;
/// A failed try is repeated after one second, doubling up to this.
pub(super) const LONGEST_WAIT: TimeDelta = TimeDelta::minutes(5);
/// A platform that asks for a longer wait is asked again after this: whatever
/// lies further ahead is taken for a clock that was set back (see the outbox).
const LONGEST_HOLD: TimeDelta = TimeDelta::hours(1);

/// A message that was tried, and how that ended.
pub(super) struct Tried {
    pub claimed: Claimed,
    pub outcome: Outcome,
    /// What was sent, where anything was.
    pub outgoing: Option<Outgoing>,
}

#[derive(Debug, Clone)]
pub(super) enum Outcome {
    Late,
    /// What it asks for was settled while it waited.
    Needless,
    NotYet(Instant),
    NoChannel,
    Answered(Sent),
}

impl Outcome {
    /// For the log.
    pub(super) fn name(&self) -> &'static str {
        match self {
            Outcome::Late => "late",
            Outcome::Needless => "needless",
            Outcome::NotYet(_) => "not yet",
            Outcome::NoChannel => "no channel",
            Outcome::Answered(sent) => match sent {
                Sent::Accepted { .. } => "sent",
                Sent::Later { .. } => "later",
                Sent::Gone { .. } => "gone",
                Sent::Moved { .. } => "moved",
                Sent::Refused { .. } => "refused",
                Sent::Unclear { .. } => "unclear",
            },
        }
    }
}

impl Engine {
    /// What a try means for the message, and for the household where somebody has to know.
    pub(super) async fn judge(
        &self,
        settling: &mut Settling<'_>,
        tried: &Tried,
    ) -> Result<Settled, StoreError> {
        let (claimed, now) = (&tried.claimed, settling.now());
        let sent = match &tried.outcome {
            Outcome::Late => {
                self.undelivered(settling, claimed, Undelivered::TooLate)
                    .await?;
                return Ok(Settled::Late);
            }
            Outcome::Needless => return Ok(Settled::Late),
            Outcome::NotYet(free) => return Ok(Settled::Again { not_before: *free }),
            // A channel that is not running now may be running later.
            Outcome::NoChannel => {
                return Ok(Settled::Again {
                    not_before: self.clock.now() + LONGEST_WAIT,
                });
            }
            Outcome::Answered(sent) => sent.clone(),
        };
        let to_clinic = claimed.carer == 0 && claimed.message.kind.is_for_clinic();
        Ok(match sent {
            Sent::Accepted { external_id } => Settled::Sent {
                external_id,
                chat: claimed.chat.clone(),
                buttons: claimed.buttons,
            },
            Sent::Later { after } => {
                let not_before = now + as_asked(after);
                Settled::Again { not_before }
            }
            Sent::Moved { to } => {
                self.moved(settling, claimed, &to, to_clinic).await?;
                Settled::Again { not_before: now }
            }
            Sent::Gone { .. } | Sent::Refused { .. }
                if to_clinic && self.is_somebodys(settling, &claimed.chat).await? =>
            {
                self.tell_the_others(settling, claimed).await?;
                Settled::Gone
            }
            // What the platform will never take must not hold up all that comes after it.
            Sent::Refused { why } if to_clinic && claimed.tries >= REFUSALS => {
                tracing::error!(
                    outbox = claimed.id,
                    why,
                    "the clinic's chat never takes a message; it is told so"
                );
                let note =
                    Message::new(Recipient::Clinic, Kind::ClinicNote).fact("what", "undelivered");
                settling.say(None, note);
                Settled::Refused
            }
            // An alert is never lost because the clinic's chat is closed: it waits.
            Sent::Gone { why } | Sent::Refused { why } if to_clinic => {
                tracing::error!(
                    outbox = claimed.id,
                    why,
                    "the clinic's chat does not take an alert; it is tried again"
                );
                Settled::Again {
                    not_before: now + LONGEST_WAIT,
                }
            }
            Sent::Gone { why } => {
                tracing::info!(outbox = claimed.id, why, "a chat is closed to us");
                self.undelivered(settling, claimed, Undelivered::Gone)
                    .await?;
                Settled::Gone
            }
            Sent::Refused { why } => {
                tracing::error!(
                    outbox = claimed.id,
                    why,
                    "the platform does not take a message"
                );
                self.undelivered(settling, claimed, Undelivered::Refused)
                    .await?;
                Settled::Refused
            }
            Sent::Unclear { why } => {
                tracing::warn!(
                    outbox = claimed.id,
                    why,
                    "a try to send failed; it is repeated"
                );
                let wait = TimeDelta::seconds(1 << claimed.tries.min(9)).min(LONGEST_WAIT);
                Settled::Again {
                    not_before: now + wait,
                }
            }
        })
    }

    /// Waits as long as a platform asks to, from when it has answered: what is begun before
    /// that is settled heeds it as well.
    pub(super) fn heed(&self, tried: &Tried) {
        if let Outcome::Answered(Sent::Later { after }) = tried.outcome {
            let now = self.now();
            let chat = &tried.claimed.chat.address;
            self.pace().hold(chat, now, now + as_asked(after));
        }
    }

    pub(super) fn count(&self, outcome: &Outcome) {
        let counts = &self.counts;
        let counter = match outcome {
            Outcome::Late | Outcome::Needless => &counts.late,
            Outcome::NotYet(_) | Outcome::NoChannel => return,
            Outcome::Answered(sent) => match sent {
                Sent::Accepted { .. } => &counts.sent,
                Sent::Later { .. } | Sent::Moved { .. } => &counts.later,
                Sent::Gone { .. } | Sent::Refused { .. } => &counts.refused,
                Sent::Unclear { .. } => &counts.unclear,
            },
        };
        add(counter, 1);
    }

    /// Whether a chat is one that somebody at the clinic has with the bot alone.
    async fn is_somebodys(
        &self,
        settling: &mut Settling<'_>,
        chat: &Chat,
    ) -> Result<bool, StoreError> {
        let clinic = &self.policy.clinic.key;
        if settling.clinic_chat().await?.as_ref() == Some(chat) {
            return Ok(false);
        }
        let staff = settling.work.staff(clinic).await?;
        Ok(staff
            .iter()
            .any(|member| member.chat.as_ref() == Some(chat)))
    }

    /// Somebody's chat is closed: it is used no more, and an alert for them goes to the clinic's.
    async fn tell_the_others(
        &self,
        settling: &mut Settling<'_>,
        claimed: &Claimed,
    ) -> Result<(), StoreError> {
        let clinic = &self.policy.clinic.key;
        for member in settling.work.staff(clinic).await? {
            if member.chat.as_ref() == Some(&claimed.chat) {
                settling
                    .work
                    .set_member_chat(clinic, member.no, None)
                    .await?;
            }
        }
        let bound = settling.clinic_chat().await?.is_some();
        if bound && is_alert(claimed.message.kind) {
            if let Some(household) = claimed.household {
                settling.load(&[household]).await?;
            }
            let mut message = claimed.message.clone();
            message.to = Recipient::Clinic;
            settling.say(claimed.household, message);
        }
        Ok(())
    }

    async fn undelivered(
        &self,
        settling: &mut Settling<'_>,
        claimed: &Claimed,
        why: Undelivered,
    ) -> Result<(), StoreError> {
        let Some(household) = claimed.household.filter(|_| claimed.carer > 0) else {
            return Ok(());
        };
        settling.load(&[household]).await?;
        let input = Input::Undelivered {
            carer: claimed.carer,
            kind: claimed.message.kind,
            why,
        };
        settling.decide(household, &input, &format!("outbox {}", claimed.id));
        Ok(())
    }

    async fn moved(
        &self,
        settling: &mut Settling<'_>,
        claimed: &Claimed,
        to: &str,
        to_clinic: bool,
    ) -> Result<(), StoreError> {
        settling
            .work
            .readdress(self.key(), &claimed.chat, to)
            .await?;
        if to_clinic {
            let chat = Chat {
                address: to.into(),
                ..claimed.chat.clone()
            };
            settling.bind_clinic_chat(&chat).await?;
        } else if let Some(household) = claimed.household {
            settling.load(&[household]).await?;
            let body = Body::Moved { to: to.into() };
            let input = Input::Carer {
                carer: claimed.carer,
                body,
            };
            settling.decide(household, &input, &format!("outbox {}", claimed.id));
        }
        Ok(())
    }
}

fn as_asked(after: Duration) -> TimeDelta {
    TimeDelta::from_std(after).map_or(LONGEST_HOLD, |after| after.min(LONGEST_HOLD))
}
