//! `HOUSEHOLD.COURSE`, as the board writes it.

use crate::domain::household::{Course, Household};
use crate::domain::message::No;
use crate::engine::Engine;
use anyhow::Context;
use std::fmt;
use std::str::FromStr;

/// A household's number and that of one of its courses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct CourseNumber {
    pub(super) household: i64,
    pub(super) course: No,
}

impl FromStr for CourseNumber {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let whole = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
        text.split_once('.')
            .filter(|(household, course)| whole(household) && whole(course))
            .and_then(|(household, course)| {
                Some(CourseNumber {
                    household: household.parse().ok()?,
                    course: course.parse().ok()?,
                })
            })
            .ok_or_else(|| {
                "write the household's number, a point, and the course's: 1.1".to_owned()
            })
    }
}

impl fmt::Display for CourseNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.household, self.course)
    }
}

impl CourseNumber {
    /// Its household.
    pub(super) async fn household(self, engine: &Engine) -> anyhow::Result<Household> {
        let id = self.household;
        let household = engine.household(id).await?;
        household.with_context(|| format!("there is no household {id}"))
    }

    /// The course in its household.
    pub(super) fn course(self, household: &Household) -> anyhow::Result<&Course> {
        household
            .courses
            .get(&self.course)
            .map(AsRef::as_ref)
            .with_context(|| format!("household {} has no course {}", self.household, self.course))
    }
}
