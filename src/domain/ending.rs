//! How something that the clinic had to see came to an end.

use serde::{Deserialize, Serialize};

macro_rules! endings {
    ($($(#[$doc:meta])* $variant:ident => $name:literal,)*) => {
        /// How an alert ended: a closed list, a button each. None of them records a dose.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum Ending {
            $($(#[$doc])* $variant,)*
        }

        impl Ending {
            /// Every one, in an order that stays put: buttons carry its number.
            pub const ALL: &'static [Ending] = &[$(Ending::$variant,)*];

            /// The word that stays put, such as `reached-owner`.
            pub const fn name(self) -> &'static str {
                match self { $(Ending::$variant => $name,)* }
            }
        }
    };
}

endings! {
    /// The owner was spoken to.
    ReachedOwner => "reached-owner",
    /// Nobody answered the clinic's call: the alert stays open.
    NoAnswer => "no-answer",
    /// The dose is given late, on the clinic's order.
    GivenLateOnOrder => "given-late-on-order",
    /// The dose is left out, on the clinic's order.
    LeftOutOnOrder => "left-out-on-order",
    /// The patient comes to the clinic.
    ComesIn => "comes-in",
    /// What was lacking was handed out.
    HandedOut => "handed-out",
    /// Anything else.
    Otherwise => "otherwise",
}

impl Ending {
    /// Its number on a button, from 0.
    pub fn number(self) -> u32 {
        let found = Ending::ALL.iter().position(|ending| *ending == self);
        found.and_then(|at| u32::try_from(at).ok()).unwrap_or(0)
    }

    /// The one with a number.
    pub fn numbered(number: u32) -> Option<Ending> {
        Ending::ALL.get(usize::try_from(number).ok()?).copied()
    }

    /// Whether it says what the clinic ordered, which is a veterinarian's to say.
    pub fn states_an_order(self) -> bool {
        matches!(self, Ending::GivenLateOnOrder | Ending::LeftOutOnOrder)
    }
}

impl std::str::FromStr for Ending {
    type Err = ();

    fn from_str(name: &str) -> Result<Ending, ()> {
        let found = Ending::ALL.iter().find(|ending| ending.name() == name);
        found.copied().ok_or(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ending_is_known_by_its_number_and_its_name() {
        for ending in Ending::ALL {
            assert_eq!(Ending::numbered(ending.number()), Some(*ending));
            assert_eq!(ending.name().parse(), Ok(*ending));
        }
        assert_eq!(Ending::numbered(99), None);
        assert_eq!("given".parse::<Ending>(), Err(()));
    }
}
