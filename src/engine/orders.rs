//! Changes of orders: from the clinic's chat and from a terminal.

use super::Engine;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::amend::{Answering, amend};
use crate::domain::amendment::{Alteration, Amendment};
use crate::domain::decide::{ClinicWord, Input, in_lines, is_open, read_back};
use crate::domain::household::{Household, next_no};
use crate::domain::message::{Kind, Label, Message, No, Recipient, Tap, Verdict};
use crate::domain::order_words::{self, Command, Unclear};
use crate::store::StoreError;

/// A change as it stands before anybody said yes to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preview {
    /// What it would do, in the clinic's words.
    pub text: String,
    /// Whether a second person has to confirm it.
    pub second: bool,
}

/// What became of a change that was entered at a terminal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Changed {
    /// It takes effect now; the invitation's code where a carer was added.
    Now {
        /// The code of a new carer's invitation.
        invitation: Option<String>,
    },
    /// A second person has to confirm it; its number in the household.
    Waits(No),
    /// Whoever entered it cannot confirm it.
    SamePerson,
    /// A veterinarian has to confirm it; its number in the household.
    Veterinarian(No),
    /// It was answered before, or it is too old.
    Closed,
}

/// Why an order is left as it is.
#[derive(Debug, thiserror::Error)]
pub enum ChangeError {
    /// The clinic has no such course.
    #[error("household {household} has no course {course}")]
    NoCourse {
        /// The household.
        household: i64,
        /// The course.
        course: No,
    },
    /// The clinic has no such change.
    #[error("household {household} has no change {amendment} of an order")]
    NoChange {
        /// The household.
        household: i64,
        /// The change.
        amendment: No,
    },
    /// It cannot be; a line for each reason.
    #[error("{0}")]
    Refused(String),
    /// The store could not keep it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Engine {
    /// A line in the clinic's chat that may be a command about an order; gives whether it was one.
    pub(super) async fn settle_order(
        &self,
        settling: &mut Settling<'_>,
        text: &str,
        by: &str,
        cause: &str,
    ) -> Result<bool, StoreError> {
        match order_words::read(text) {
            None => return Ok(false),
            Some(Err(Unclear(why))) => settling.say(None, unclear(by, &why)),
            Some(Ok(command)) => self.settle_command(settling, &command, by, cause).await?,
        }
        Ok(true)
    }

    async fn settle_command(
        &self,
        settling: &mut Settling<'_>,
        command: &Command,
        by: &str,
        cause: &str,
    ) -> Result<(), StoreError> {
        let Command { patient, what } = command;
        let found = settling
            .work
            .courses_of_patient(&self.policy.clinic.key, patient)
            .await?;
        if found.is_empty() {
            let why = format!("no patient under treatment is called “{patient}”");
            settling.say(None, unclear(by, &why));
            return Ok(());
        }
        let shown = found.len() == 1;
        let mut which = Message::new(Recipient::Clinic, Kind::ClinicOrderCheck)
            .about(patient)
            .fact("status", "which")
            .fact("change", what.name())
            .fact("owner", by);
        for (household, course) in found {
            settling.load(&[household]).await?;
            let Some(known) = settling.household(household) else {
                continue;
            };
            let amendment = next_no(&known.amendments);
            which = which.button(
                Label::Name(name_of(known, course)),
                Tap::Amend {
                    household,
                    amendment,
                    verdict: Verdict::Show,
                },
            );
            let word = ClinicWord::Change {
                course,
                what: what.clone(),
                shown,
            };
            let by = by.to_owned();
            settling.decide(household, &Input::Clinic { by, word }, cause);
        }
        if !shown {
            settling.say(None, which);
        }
        Ok(())
    }

    /// A tap below a change that was read back; a carer who was added is invited with it.
    pub(super) async fn settle_change(
        &self,
        settling: &mut Settling<'_>,
        household: i64,
        amendment: No,
        verdict: Verdict,
        by: &str,
        cause: &str,
    ) -> Result<Option<String>, StoreError> {
        let open = |settling: &Settling<'_>| {
            let amendment = settling.household(household)?.amendments.get(&amendment)?;
            let taken = amendment.settled.as_ref().is_some_and(|s| s.taken);
            Some((taken, amendment.clone()))
        };
        let before = open(settling).is_some_and(|(taken, _)| taken);
        let word = ClinicWord::Changing { amendment, verdict };
        let by = by.to_owned();
        settling.decide(household, &Input::Clinic { by, word }, cause);
        match open(settling) {
            Some((true, found)) if !before => self.follow(settling, household, &found).await,
            _ => Ok(None),
        }
    }

    /// Whether a change that is about to be confirmed needs a veterinarian who is not there.
    pub(super) async fn change_lacks_veterinarian(
        &self,
        settling: &mut Settling<'_>,
        household: i64,
        amendment: No,
        by: &str,
    ) -> Result<bool, StoreError> {
        let found = settling
            .household(household)
            .and_then(|known| known.amendments.get(&amendment))
            .filter(|found| is_open(found, settling.now()) && found.what.is_an_order());
        let Some(entered_by) = found.map(|found| found.entered_by.clone()) else {
            return Ok(false);
        };
        self.lacks_veterinarian(settling, [&entered_by, by]).await
    }

    /// What a change needs beyond the household: a new carer's invitation, or
    /// that one who was taken off cannot come back by an old one.
    async fn follow(
        &self,
        settling: &mut Settling<'_>,
        household: i64,
        amendment: &Amendment,
    ) -> Result<Option<String>, StoreError> {
        let now = settling.now();
        match &amendment.what {
            Alteration::CarerAdded(name) => {
                let carer = carer_called(settling, household, |carer| *carer == *name);
                let Some((carer, name)) = carer else {
                    return Ok(None);
                };
                settling
                    .work
                    .revoke_invitations(household, carer, now)
                    .await?;
                let code = self.invite(settling, household, carer, now).await?;
                self.say_invitation(settling, household, &name, &code);
                Ok(Some(code))
            }
            Alteration::CarerRemoved(_) => {
                let gone: Vec<No> = settling
                    .household(household)
                    .map(|known| {
                        let carers = known.carers.values();
                        carers
                            .filter(|carer| carer.chat.is_none() && !carer.reachable)
                            .map(|carer| carer.no)
                            .collect()
                    })
                    .unwrap_or_default();
                for carer in gone {
                    settling
                        .work
                        .revoke_invitations(household, carer, now)
                        .await?;
                }
                Ok(None)
            }
            _ => Ok(None),
        }
    }

    /// What a change would do; nothing is changed.
    pub async fn preview_change(
        &self,
        household: i64,
        course: No,
        what: &Alteration,
        by: &str,
        now: Instant,
    ) -> Result<Preview, ChangeError> {
        let mut settling = Settling::begin(self, now).await?;
        let known = self.course_of(&mut settling, household, course).await?;
        let who = Answering {
            by,
            confirmed_by: None,
        };
        let amended = amend(&known, course, what, &self.policy, who, now)
            .map_err(|refused| ChangeError::Refused(in_lines(&refused)))?;
        let amendment = Amendment {
            no: next_no(&known.amendments),
            course,
            what: what.clone(),
            entered_by: by.into(),
            entered_at: now,
            affirmed: false,
            settled: None,
        };
        let message = read_back(&known, &amendment, &amended, &self.policy, now)
            .fact("status", "change")
            .fact("by", by);
        Ok(Preview {
            text: self.wording.render(&message, &self.clinic_language).text,
            second: amended.second && self.policy.second_person,
        })
    }

    /// Enters a change that was previewed and said yes to at a terminal.
    pub async fn change_order(
        &self,
        household: i64,
        course: No,
        what: &Alteration,
        by: &str,
        now: Instant,
    ) -> Result<Changed, ChangeError> {
        let mut settling = Settling::begin(self, now).await?;
        let known = self.course_of(&mut settling, household, course).await?;
        let amendment = next_no(&known.amendments);
        let word = ClinicWord::Change {
            course,
            what: what.clone(),
            shown: false,
        };
        let input = Input::Clinic {
            by: by.into(),
            word,
        };
        settling.decide(household, &input, "terminal");
        let changed = self
            .confirm_in(&mut settling, household, amendment, by)
            .await?;
        settling.commit().await?;
        self.changed_from_outside().await;
        Ok(changed)
    }

    /// Somebody at a terminal confirms a change; where two are needed, not the one who entered it.
    pub async fn confirm_change(
        &self,
        household: i64,
        amendment: No,
        by: &str,
        now: Instant,
    ) -> Result<Changed, ChangeError> {
        let mut settling = Settling::begin(self, now).await?;
        settling.load(&[household]).await?;
        let known = settling
            .household(household)
            .filter(|known| known.clinic == self.policy.clinic.key)
            .and_then(|known| known.amendments.get(&amendment));
        let Some(found) = known else {
            return Err(ChangeError::NoChange {
                household,
                amendment,
            });
        };
        if found.settled.is_some() {
            return Ok(Changed::Closed);
        }
        let changed = self
            .confirm_in(&mut settling, household, amendment, by)
            .await?;
        settling.commit().await?;
        self.changed_from_outside().await;
        Ok(changed)
    }

    async fn confirm_in(
        &self,
        settling: &mut Settling<'_>,
        household: i64,
        amendment: No,
        by: &str,
    ) -> Result<Changed, ChangeError> {
        let found = |settling: &Settling<'_>| {
            let known = settling.household(household)?;
            known.amendments.get(&amendment).cloned()
        };
        let affirmed_before = found(settling).is_some_and(|found| found.affirmed);
        if self
            .change_lacks_veterinarian(settling, household, amendment, by)
            .await?
        {
            // With its buttons, for whoever of the clinic's chat may confirm it.
            let word = ClinicWord::Changing {
                amendment,
                verdict: Verdict::Show,
            };
            let by = by.to_owned();
            settling.decide(household, &Input::Clinic { by, word }, "terminal");
            return Ok(Changed::Veterinarian(amendment));
        }
        let invitation = self
            .settle_change(
                settling,
                household,
                amendment,
                Verdict::Confirm,
                by,
                "terminal",
            )
            .await?;
        let Some(found) = found(settling) else {
            return Ok(Changed::Closed);
        };
        match found.settled {
            Some(settled) if settled.taken => Ok(Changed::Now { invitation }),
            Some(_) => {
                let known = settling.household(household);
                let who = Answering {
                    by,
                    confirmed_by: None,
                };
                let why = known
                    .map(|known| {
                        amend(
                            known,
                            found.course,
                            &found.what,
                            &self.policy,
                            who,
                            settling.now(),
                        )
                    })
                    .and_then(Result::err)
                    .map(|refused| in_lines(&refused))
                    .unwrap_or_default();
                Err(ChangeError::Refused(why))
            }
            None if affirmed_before => Ok(Changed::SamePerson),
            None if found.affirmed => Ok(Changed::Waits(amendment)),
            None => Ok(Changed::Closed),
        }
    }

    async fn course_of(
        &self,
        settling: &mut Settling<'_>,
        household: i64,
        course: No,
    ) -> Result<Household, ChangeError> {
        settling.load(&[household]).await?;
        settling
            .household(household)
            .filter(|known| known.clinic == self.policy.clinic.key)
            .filter(|known| known.courses.contains_key(&course))
            .cloned()
            .ok_or(ChangeError::NoCourse { household, course })
    }
}

/// A line that begins like a command and is none, answered with how it is written.
fn unclear(by: &str, why: &str) -> Message {
    Message::new(Recipient::Clinic, Kind::ClinicOrderCheck)
        .fact("owner", by)
        .fact("by", by)
        .fact("status", "unclear")
        .fact("text", why)
}

/// A course as people tell it from others: patient, owner, product.
fn name_of(household: &Household, course: No) -> String {
    household
        .courses
        .get(&course)
        .map_or_else(String::new, |course| {
            format!(
                "{} ({}), {}",
                household.patient_of(course),
                household.owner,
                course.product.name
            )
        })
}

fn carer_called(
    settling: &Settling<'_>,
    household: i64,
    called: impl Fn(&String) -> bool,
) -> Option<(No, String)> {
    let known = settling.household(household)?;
    let carer = known.carers.values().find(|carer| called(&carer.name))?;
    Some((carer.no, carer.name.clone()))
}
