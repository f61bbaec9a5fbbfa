//! Who enters an order does not confirm it, and one of the two is a
//! veterinarian: the rules for every order and every change of one, from a chat
//! or from a terminal.

use super::staff::Role;

/// Whether two names in the record are the same person's. The case of letters
/// and spaces around a name are not a second person.
pub fn is_same_person(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}

/// Whether a veterinarian is among those who entered an order and who confirm
/// it, by a clinic's list of its staff. Somebody who is not on it is none.
pub fn has_veterinarian<'s>(
    people: [&str; 2],
    staff: impl IntoIterator<Item = (&'s str, Role)>,
) -> bool {
    let mut veterinarians = staff
        .into_iter()
        .filter(|(_, role)| *role == Role::Veterinarian);
    veterinarians.any(|(name, _)| people.iter().any(|person| is_same_person(person, name)))
}

/// What becomes of a confirmation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confirming<'a> {
    /// It takes effect.
    Takes,
    /// It was confirmed before, by this person.
    Already(&'a str),
    /// Whoever entered it cannot confirm it.
    SamePerson,
}

/// Judges a confirmation of what one person entered and somebody may have confirmed before.
pub fn confirming<'a>(entered_by: &str, confirmed_by: Option<&'a str>, by: &str) -> Confirming<'a> {
    match confirmed_by {
        Some(who) => Confirming::Already(who),
        None if is_same_person(entered_by, by) => Confirming::SamePerson,
        None => Confirming::Takes,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_person_is_somebody_else() {
        assert_eq!(confirming("Ines", None, "Noor"), Confirming::Takes);
        for same in ["Ines", "ines", " INES "] {
            assert_eq!(confirming("Ines", None, same), Confirming::SamePerson);
        }
        assert_eq!(
            confirming("Ines", Some("Noor"), "Ines"),
            Confirming::Already("Noor")
        );
    }

    #[test]
    fn one_of_the_two_is_a_veterinarian() {
        let staff = [
            ("Ines", Role::Technician),
            ("Perrin", Role::Veterinarian),
            ("Noor", Role::Technician),
        ];
        assert!(has_veterinarian(["Ines", "perrin "], staff));
        assert!(has_veterinarian(["Perrin", "Ines"], staff));
        assert!(has_veterinarian(["Perrin", "Perrin"], staff));
        assert!(!has_veterinarian(["Ines", "Noor"], staff));
        assert!(!has_veterinarian(["Ines", "Perrin Marrow"], staff));
        assert!(!has_veterinarian(["Perrin", "Ines"], []));
    }
}
