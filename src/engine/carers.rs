//! Who gives injections in a household: the clinic adds and takes off.

use super::Engine;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::change::Change;
use crate::domain::household::{Household, next_no};
use crate::domain::message::No;
use crate::domain::name::name as name_of;
use crate::domain::second_person::is_same_person;
use crate::store::StoreError;

/// Why the carers of a household stay as they are.
#[derive(Debug, thiserror::Error)]
pub enum CarerError {
    /// The clinic has no such household.
    #[error("there is no household {0}")]
    NoHousehold(i64),
    /// Nobody there has that name.
    #[error("nobody in household {household} is called {name}; its carers are {known}")]
    NoCarer {
        /// The household.
        household: i64,
        /// The name that was given.
        name: String,
        /// The names that there are.
        known: String,
    },
    /// It would not be read as a name.
    #[error("a name is one line of at most 60 characters")]
    NoName,
    /// Somebody there has that name, and joined with it.
    #[error("{0} has joined already")]
    Joined(String),
    /// The store could not keep it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Engine {
    /// Invites a carer, a new one or one who has not joined; gives the code of the invitation.
    pub async fn add_carer(
        &self,
        household: i64,
        name: &str,
        by: &str,
        now: Instant,
    ) -> Result<String, CarerError> {
        let name = name_of(name).ok_or(CarerError::NoName)?;
        let mut settling = self.settling_of(household, now).await?;
        let known = held(&settling, household)?;
        let mut carers = known.carers.values();
        let found = carers.find(|carer| is_same_person(&carer.name, name));
        if found.is_some_and(|carer| carer.chat.is_some()) {
            return Err(CarerError::Joined(name.into()));
        }
        let carer = match found {
            Some(carer) => carer.no,
            None => {
                let carer = next_no(&known.carers);
                let added = Change::CarerAdded {
                    carer,
                    name: name.into(),
                };
                settling.change(household, vec![added], by);
                carer
            }
        };
        settling
            .work
            .revoke_invitations(household, carer, now)
            .await?;
        let code = self.invite(&mut settling, household, carer, now).await?;
        settling.commit().await?;
        Ok(code)
    }

    /// Takes a carer off: nothing is sent to them and nothing is heard from them from here on.
    pub async fn remove_carer(
        &self,
        household: i64,
        name: &str,
        by: &str,
        now: Instant,
    ) -> Result<(), CarerError> {
        let mut settling = self.settling_of(household, now).await?;
        let known = held(&settling, household)?;
        let Some(carer) = known
            .carers
            .values()
            .find(|carer| is_same_person(&carer.name, name))
            .map(|c| c.no)
        else {
            let names: Vec<&str> = known.carers.values().map(|c| c.name.as_str()).collect();
            return Err(CarerError::NoCarer {
                household,
                name: name.into(),
                known: names.join(", "),
            });
        };
        settling
            .work
            .revoke_invitations(household, carer, now)
            .await?;
        settling.change(household, vec![Change::CarerRemoved { carer }], by);
        settling.commit().await?;
        Ok(())
    }

    async fn settling_of(&self, household: i64, now: Instant) -> Result<Settling<'_>, CarerError> {
        let mut settling = Settling::begin(self, now).await?;
        settling.load(&[household]).await?;
        let ours = settling
            .household(household)
            .is_some_and(|h| h.clinic == self.policy.clinic.key);
        if ours {
            Ok(settling)
        } else {
            Err(CarerError::NoHousehold(household))
        }
    }

    /// A new invitation of a carer.
    pub(super) async fn invite(
        &self,
        settling: &mut Settling<'_>,
        household: i64,
        carer: No,
        now: Instant,
    ) -> Result<String, StoreError> {
        let code = super::enrol::new_code();
        let expires = now + self.policy.invitation_valid;
        settling
            .work
            .invite(&code, household, carer, now, expires)
            .await?;
        Ok(code)
    }
}

fn held<'s>(settling: &'s Settling<'_>, household: i64) -> Result<&'s Household, CarerError> {
    settling
        .household(household)
        .ok_or(CarerError::NoHousehold(household))
}
