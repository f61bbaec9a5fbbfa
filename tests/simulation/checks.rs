//! What has to hold after every step. Each check looks at what is new only,
//! and trusts the tables and its own memory, not the program's functions.

use super::books::{Books, Chat, Heard, Letter, News, OfRecord, Tables, Told};
use super::platform::Try;
use super::reckon;
use super::world::Home;
use chrono::{NaiveDateTime, NaiveTime, TimeDelta};
use std::collections::{BTreeMap, BTreeSet};
use vialbell::domain::Instant;
use vialbell::domain::arrival::Body;
use vialbell::domain::change::Change;
use vialbell::domain::household::Household;

/// How long a dose may be recorded after its time, and how long before: the
/// demonstration clinic's rules (config/clinic.example.toml).
const WINDOW: TimeDelta = TimeDelta::hours(3);
const BEFORE: TimeDelta = TimeDelta::hours(1);
/// How often a dose is asked for again, by the same rules.
const AGAIN: usize = 3;
/// A message that may go out is tried at least every five minutes.
const IN_TIME: TimeDelta = TimeDelta::minutes(7);

/// What was promised.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Check {
    /// At most one administration in force for a dose.
    OneAdministration,
    /// Withdrawals never exceed a vial, and make up the dose.
    Withdrawals,
    /// Nothing is offered past its limit.
    Limit,
    /// A dose is planned at its wall time by the rules and the zone of its day.
    Planned,
    /// Every due dose is asked for, and ends completed, not-done, or reported.
    DueDose,
    /// A dose is asked for once, and again no more often than the clinic laid down.
    Reminders,
    /// Every inbox row is settled, once.
    InboxOnce,
    /// Whoever writes gets an answer.
    Answered,
    /// Every sign of danger reaches the clinic and gets an emergency answer.
    RedFlag,
    /// What an owner was told is recorded is in the record, and no more than that.
    Answer,
    /// What was tapped in time is in the record.
    Tapped,
    /// The journal replays to the household that is loaded.
    Replay,
    /// Messages of one chat come in order, but for urgent ones.
    Order,
    /// What comes onto a screen was committed before.
    Committed,
    /// A message comes twice only where nobody could know that it had come.
    Repeats,
    /// What may be sent is sent.
    InTime,
    /// The program comes to rest.
    Rest,
    /// It never panics: load() equals apply() at every commit.
    Panics,
}

#[derive(Debug, Clone)]
pub struct Failure {
    pub check: Check,
    pub what: String,
}

/// What the checks know beside the books.
pub struct Known<'w> {
    pub homes: &'w [Home],
    /// Household by home.
    pub households: Vec<i64>,
    /// Who wrote what, by external id.
    pub said: BTreeMap<String, Said>,
    /// Updates that the program took, until they are seen settled.
    pub taken: BTreeSet<String>,
    pub new_rules: bool,
    /// Doses that were touched.
    touched: BTreeSet<(i64, i64, i64)>,
    /// Whether each record in force says completed, as of the last look.
    records: BTreeMap<(i64, i64, i64), bool>,
    reminders: BTreeMap<(i64, i64, String, String), usize>,
    outages: Vec<(i64, String, Instant, Instant)>,
    planned: BTreeMap<(i64, i64, String, bool), Vec<Instant>>,
}

/// One thing that a person wrote or tapped.
#[derive(Debug, Clone)]
pub struct Said {
    /// Home and person; none is the clinic.
    pub by: Option<(usize, usize)>,
    pub body: Body,
    pub red_flag: bool,
}

type Failures = Vec<Failure>;

fn fail(failures: &mut Failures, check: Check, what: impl Into<String>) {
    failures.push(Failure {
        check,
        what: what.into(),
    });
}

impl<'w> Known<'w> {
    pub fn new(homes: &'w [Home], new_rules: bool) -> Known<'w> {
        Known {
            homes,
            households: Vec::new(),
            said: BTreeMap::new(),
            taken: BTreeSet::new(),
            new_rules,
            touched: BTreeSet::new(),
            records: BTreeMap::new(),
            reminders: BTreeMap::new(),
            outages: Vec::new(),
            planned: BTreeMap::new(),
        }
    }

    fn home_of(&self, household: i64) -> Option<&'w Home> {
        let index = self.households.iter().position(|id| *id == household)?;
        Some(&self.homes[index])
    }

    fn wall(&self, household: i64, course: i64, dose: i64) -> Option<NaiveDateTime> {
        let order = self
            .home_of(household)?
            .orders
            .get(usize::try_from(course - 1).ok()?)?;
        let times: Vec<NaiveTime> = order.times.clone();
        Some(reckon::wall(order.first, &times, dose))
    }

    /// When a dose is planned by the zone and the rules of today.
    fn planned(&mut self, household: i64, course: i64, dose: i64, zone: &str) -> Option<Instant> {
        let key = (household, course, zone.to_owned(), self.new_rules);
        if !self.planned.contains_key(&key) {
            let home = self.home_of(household)?;
            let order = &home.orders[usize::try_from(course - 1).ok()?];
            let vialbell::domain::prescription::Length::Doses(doses) = order.length else {
                return None;
            };
            let all = (1..=i64::from(doses))
                .map(|dose| {
                    let wall = reckon::wall(order.first, &order.times, dose);
                    reckon::instant(zone, self.new_rules, wall)
                })
                .collect();
            self.planned.insert(key.clone(), all);
        }
        self.planned[&key]
            .get(usize::try_from(dose - 1).ok()?)
            .copied()
    }

    // ------------------------------------------------------ after every step

    /// Rules of the tables, for households that changed.
    pub async fn tables(
        &mut self,
        books: &Books,
        tables: &mut Tables,
        news: &News,
        failures: &mut Failures,
    ) {
        let spoke = news.heard.iter().filter_map(|heard| {
            let (home, _) = self.said.get(&heard.external_id)?.by?;
            Some(self.households[home])
        });
        let recorded = news
            .changes
            .iter()
            .filter(|(_, change)| is_of_record(change))
            .map(|(household, _)| *household);
        let looked_at: BTreeSet<i64> = recorded.chain(spoke).collect();
        for household in &looked_at {
            let of_record = tables.of_record(*household).await;
            for row in &of_record.twice {
                fail(
                    failures,
                    Check::OneAdministration,
                    format!("household {household}: {row:?}"),
                );
            }
            for row in &of_record.wrong_draws {
                fail(
                    failures,
                    Check::Withdrawals,
                    format!("household {household}: {row:?}"),
                );
            }
            let no_product = books.replayed.get(household).is_some_and(|replayed| {
                replayed.courses.values().any(|course| {
                    course
                        .vials
                        .values()
                        .any(|vial| vial.available != course.product.available)
                })
            });
            if no_product {
                fail(
                    failures,
                    Check::Withdrawals,
                    format!("household {household}: a vial of another size"),
                );
            }
            self.answers(books, &of_record, *household, news, failures);
        }
    }

    /// What was told, what was tapped, and what is on record.
    fn answers(
        &mut self,
        books: &Books,
        of_record: &OfRecord,
        household: i64,
        news: &News,
        failures: &mut Failures,
    ) {
        let mut records = BTreeMap::new();
        for record in &of_record.records {
            records.insert((household, record.course, record.dose), record.completed);
        }
        let expected = self.expected(books, household, news);
        let known = &books.replayed[&household];
        for ((course, dose), row) in &of_record.doses {
            let patient = patient_of(known, *course);
            let told = books
                .told
                .get(&(household, patient.clone(), row.planned))
                .copied();
            let record = records.get(&(household, *course, *dose)).copied();
            let agrees = match (told, record) {
                (Some(Told::Given), Some(completed)) => completed,
                (Some(Told::NotGiven), Some(completed)) => !completed,
                (None | Some(Told::TakenBack), None) => true,
                _ => false,
            };
            // Where nobody can be reached nobody is told.
            let nobody = reachable(known).next().is_none();
            let told_or_nobody_to_tell = agrees || (nobody && record.is_some());
            if !told_or_nobody_to_tell {
                fail(
                    failures,
                    Check::Answer,
                    format!(
                        "{patient}, dose {dose} of {}: told {told:?}, on record {record:?}",
                        row.local
                    ),
                );
            }
        }
        for ((course, dose), given) in expected {
            let record = records.get(&(household, course, dose)).copied();
            if record != Some(given) {
                fail(
                    failures,
                    Check::Tapped,
                    format!(
                        "household {household}, dose {course}/{dose}: tapped given={given}, on record {record:?}"
                    ),
                );
            }
        }
        self.records.retain(|(of, ..), _| *of != household);
        self.records.append(&mut records);
    }

    /// What the taps of this step have to leave on record, where nothing else was said after them.
    fn expected(&self, books: &Books, household: i64, news: &News) -> BTreeMap<(i64, i64), bool> {
        let mut expected = BTreeMap::new();
        for heard in &news.heard {
            let Some(said) = self.said.get(&heard.external_id) else {
                continue;
            };
            let Some((home, person)) = said.by else {
                continue;
            };
            let Some(settled) = heard.settled.filter(|_| self.households[home] == household) else {
                continue;
            };
            let known = &books.replayed[&household];
            let carer = u32::try_from(person + 1).expect("a few");
            // Who has not joined is a stranger yet.
            if known
                .carers
                .get(&carer)
                .is_none_or(|carer| carer.chat.is_none())
            {
                continue;
            }
            let Some((course, dose, given)) = dose_tapped(&said.body) else {
                expected.clear();
                continue;
            };
            let touched = u32::try_from(course)
                .ok()
                .zip(u32::try_from(dose).ok())
                .and_then(|(course, dose)| {
                    known
                        .courses
                        .get(&course)?
                        .touched
                        .get(&dose)
                        .map(|dose| dose.planned.at)
                });
            let Some(planned) = touched else { continue };
            let before = expected
                .get(&(course, dose))
                .or_else(|| self.records.get(&(household, course, dose)))
                .copied();
            let in_time = planned - BEFORE <= settled && settled < planned + WINDOW;
            if in_time && (given || before != Some(true)) {
                expected.insert((course, dose), given);
            }
        }
        expected
    }

    /// What follows from the letters that were written.
    pub fn letters(&mut self, books: &Books, news: &News, failures: &mut Failures) {
        for id in &news.letters {
            let letter = &books.letters[id];
            self.one_reminder(letter, failures);
            if letter.kind == "clinic.outage"
                && let (Some(household), Some(planned)) =
                    (letter.household, letter.instant_fact("planned"))
            {
                let last = letter.instant_fact("last").unwrap_or(planned);
                self.outages
                    .push((household, letter.patient().into(), planned, last));
            }
            for limit in limits(books, letter) {
                if letter.created >= limit {
                    fail(
                        failures,
                        Check::Limit,
                        format!("decided at {}: {}", letter.created, letter.text),
                    );
                }
            }
        }
    }

    fn one_reminder(&mut self, letter: &Letter, failures: &mut Failures) {
        let most = match letter.kind.as_str() {
            "dose.due" => 1,
            "dose.again" => AGAIN,
            _ => return,
        };
        let dose = letter.taps.first().cloned().unwrap_or_default();
        let key = (
            letter.household.unwrap_or(0),
            letter.carer,
            letter.kind.clone(),
            dose,
        );
        let count = self.reminders.entry(key).or_default();
        *count += 1;
        if *count > most {
            fail(
                failures,
                Check::Reminders,
                format!("the {count}th: {}", letter.text),
            );
        }
    }

    /// Planned instants, as they are fixed at the first touch.
    pub fn planned_right(&mut self, news: &News, failures: &mut Failures) {
        for (household, change) in &news.changes {
            let (Change::DoseAsked {
                course,
                dose,
                local,
                zone,
                planned_at,
                ..
            }
            | Change::DoseClosed {
                course,
                dose,
                local,
                zone,
                planned_at,
                ..
            }
            | Change::Administered {
                course,
                dose,
                local,
                zone,
                planned_at,
                ..
            }) = change
            else {
                continue;
            };
            let (course, dose) = (i64::from(*course), i64::from(*dose));
            if !self.touched.insert((*household, course, dose)) {
                continue;
            }
            let wall = self.wall(*household, course, dose);
            let planned = self.planned(*household, course, dose, zone.name());
            if wall != Some(*local) || planned != Some(*planned_at) {
                fail(
                    failures,
                    Check::Planned,
                    format!(
                        "household {household}, dose {course}/{dose}: {local} {zone} {planned_at}, and it is {wall:?} {planned:?}"
                    ),
                );
            }
            if let Change::DoseAsked { at, planned_at, .. } = change
                && at < planned_at
            {
                fail(
                    failures,
                    Check::Planned,
                    format!("asked at {at} for {planned_at}"),
                );
            }
        }
    }

    /// Every dose that is due by the machine's clock.
    pub fn due_doses(&mut self, books: &Books, machine: Instant, failures: &mut Failures) {
        for household in self.households.clone() {
            let known = &books.replayed[&household];
            for course in known.courses.values() {
                let Some((confirmed, _)) = &course.confirmed else {
                    continue;
                };
                let patient = patient_of(known, i64::from(course.no));
                for dose in 1..=course.doses {
                    let touched = course.touched.get(&dose);
                    let number = i64::from(dose);
                    let planned = match touched {
                        Some(touched) => Some(touched.planned.at),
                        None => {
                            self.planned(household, i64::from(course.no), number, known.zone.name())
                        }
                    };
                    let Some(planned) = planned.filter(|planned| *planned <= machine) else {
                        break;
                    };
                    let told_of = || {
                        known.alerts.values().any(|alert| {
                            alert.dose == Some((course.no, dose))
                                && ["clinic.missed-dose", "clinic.outage"]
                                    .contains(&alert.kind.name())
                        }) || self.outages.iter().any(|(of, name, first, last)| {
                            *of == household
                                && *name == patient
                                && (*first..=*last).contains(&planned)
                        })
                    };
                    let record = self.records.get(&(household, i64::from(course.no), number));
                    let wrong = match record {
                        Some(true) => None,
                        Some(false) => {
                            (!told_of()).then_some("not given, and the clinic does not know")
                        }
                        None if machine >= planned + WINDOW => (!told_of())
                            .then_some("its window is over, and the clinic does not know"),
                        None => {
                            let asked = touched.is_some_and(|touched| touched.asked > 0);
                            let could = reachable(known).next().is_some() && *confirmed <= machine;
                            (could && !asked).then_some("due, and nobody was asked")
                        }
                    };
                    if let Some(wrong) = wrong {
                        fail(
                            failures,
                            Check::DueDose,
                            format!(
                                "{patient}, dose {dose}, planned {planned}, now {machine}: {wrong}"
                            ),
                        );
                    }
                }
            }
        }
    }

    /// What came in.
    pub fn inbox(&self, books: &Books, news: &News, failures: &mut Failures) {
        for cause in &news.twice {
            fail(
                failures,
                Check::InboxOnce,
                format!("{cause} was decided on twice"),
            );
        }
        for heard in &news.heard {
            if heard.state != "settled" {
                fail(failures, Check::InboxOnce, format!("{heard:?}"));
            }
        }
        for id in &news.reopened {
            fail(
                failures,
                Check::InboxOnce,
                format!("update {id} was settled and waits again"),
            );
        }
        self.answered(books, &news.heard, failures);
    }

    /// Nothing waits after a step that went through.
    pub fn nothing_waits(&mut self, books: &Books, failures: &mut Failures) {
        self.taken.retain(|id| {
            let wrong = match books.heard.get(id) {
                None => "was taken and is nowhere",
                Some(heard) if heard.settled.is_none() => "still waits",
                Some(_) => return false,
            };
            fail(failures, Check::InboxOnce, format!("update {id} {wrong}"));
            true
        });
    }

    fn answered(&self, books: &Books, heard: &[Heard], failures: &mut Failures) {
        let mut wanted: BTreeMap<(Chat, Instant), (usize, Vec<String>)> = BTreeMap::new();
        for heard in heard {
            let Some(said) = self.said.get(&heard.external_id) else {
                continue;
            };
            let (Some((home, person)), Some(settled)) = (said.by, heard.settled) else {
                continue;
            };
            let household = self.households[home];
            let carer = u32::try_from(person + 1).expect("a few");
            let joined = books.replayed[&household].carers[&carer].chat.is_some();
            if !joined || matches!(said.body, Body::Gone | Body::Back | Body::Moved { .. }) {
                continue;
            }
            // Another wording of what was answered already goes to the clinic only.
            if matches!(said.body, Body::Edited(_)) && !said.red_flag {
                continue;
            }
            let chat = (Some(household), i64::from(carer), None);
            let entry = wanted.entry((chat, settled)).or_default();
            entry.0 += 1;
            if said.red_flag {
                entry.1.push(words(&said.body));
            }
        }
        for ((chat, at), (count, dangers)) in wanted {
            let written = |kind: &'static str| {
                books
                    .letters
                    .values()
                    .rev()
                    .take_while(move |letter| letter.created + TimeDelta::days(1) > at)
                    .filter(move |letter| {
                        letter.created == at && (kind.is_empty() || letter.kind == kind)
                    })
            };
            let answers = written("").filter(|letter| letter.chat() == chat).count();
            if answers < count {
                fail(
                    failures,
                    Check::Answered,
                    format!("{chat:?} at {at}: {count} said, {answers} answers"),
                );
            }
            let emergencies = written("emergency")
                .filter(|letter| letter.chat() == chat)
                .count();
            if emergencies < dangers.len() {
                fail(
                    failures,
                    Check::RedFlag,
                    format!("{dangers:?} at {at}: {emergencies} answers"),
                );
            }
            for words in &dangers {
                let told = written("clinic.emergency").any(|letter| {
                    letter.household == chat.0 && letter.text.contains(words.as_str())
                });
                if !told {
                    fail(
                        failures,
                        Check::RedFlag,
                        format!("{words:?} at {at} was not passed on"),
                    );
                }
            }
        }
    }

    /// What came onto screens.
    pub fn screens(
        &self,
        books: &mut Books,
        tries: &[(Try, Vec<Chat>)],
        open: &BTreeSet<i64>,
        failures: &mut Failures,
    ) -> Vec<Option<i64>> {
        let mut open = open.clone();
        let mut sent = Vec::new();
        for (tried, chats) in tries {
            let letter = chats
                .iter()
                .find_map(|chat| books.letter_of(chat, tried, &open));
            sent.push(letter);
            let Some(id) = letter else {
                let before = chats
                    .iter()
                    .find_map(|chat| books.letter_of(chat, tried, &books.ids()));
                let check = match before {
                    Some(_) => Check::Repeats,
                    None => Check::Committed,
                };
                fail(failures, check, format!("{:?}", tried.outgoing.text));
                continue;
            };
            if !tried.arrived {
                continue;
            }
            let letter = &books.letters[&id];
            let elder = books
                .letters
                .range(..id)
                .rev()
                .take(400)
                .find(|(_, elder)| {
                    elder.arrived == 0
                        && elder.lane <= letter.lane
                        && elder.chat() == letter.chat()
                        && ["waiting", "sent"].contains(&elder.state.as_str())
                });
            if let Some((_, elder)) = elder {
                fail(
                    failures,
                    Check::Order,
                    format!("{:?} came before {:?}", letter.text, elder.text),
                );
            }
            for limit in limits(books, letter) {
                if tried.at >= limit {
                    fail(
                        failures,
                        Check::Limit,
                        format!("came at {}: {}", tried.at, letter.text),
                    );
                }
            }
            if tried.answered {
                open.remove(&id);
            }
            if let Some(letter) = books.letters.get_mut(&id) {
                letter.arrived += 1;
            }
        }
        sent
    }

    /// What the program knows to have been sent has come, and nothing waits that it knows of.
    pub fn settled_sends(
        &self,
        books: &Books,
        tries: &[(Try, Option<i64>)],
        went_through: bool,
        failures: &mut Failures,
    ) {
        for (tried, letter) in tries {
            let Some(letter) = letter.and_then(|id| books.letters.get(&id)) else {
                continue;
            };
            if went_through && tried.arrived && tried.answered && letter.state != "sent" {
                fail(
                    failures,
                    Check::Repeats,
                    format!("will come again: {:?}", letter.text),
                );
            }
            if letter.state == "sent" && letter.arrived == 0 {
                fail(
                    failures,
                    Check::InTime,
                    format!("nobody saw: {:?}", letter.text),
                );
            }
        }
    }

    /// What may be sent is not left lying.
    pub fn in_time(
        &self,
        books: &Books,
        now: Instant,
        good_since: &dyn Fn(&Chat) -> Option<Instant>,
        failures: &mut Failures,
    ) {
        for id in &books.unsettled {
            let letter = &books.letters[id];
            let Some(good) = good_since(&letter.chat()) else {
                continue;
            };
            if now - letter.seen.max(good) > IN_TIME {
                fail(
                    failures,
                    Check::InTime,
                    format!(
                        "written at {} and not sent: {} {:?}",
                        letter.seen, letter.kind, letter.text
                    ),
                );
            }
        }
    }
}

/// Whether a change is one of the record, so that its tables have to be looked at.
fn is_of_record(change: &Change) -> bool {
    matches!(
        change,
        Change::Administered { .. }
            | Change::AdministrationSuperseded { .. }
            | Change::DrawsPlaced { .. }
            | Change::VialMixed { .. }
    )
}

fn reachable(household: &Household) -> impl Iterator<Item = u32> {
    household
        .carers
        .values()
        .filter(|carer| carer.chat.is_some() && carer.reachable)
        .map(|carer| carer.no)
}

fn patient_of(household: &Household, course: i64) -> String {
    let course = u32::try_from(course)
        .ok()
        .and_then(|course| household.courses.get(&course));
    let patient = course.and_then(|course| household.patients.get(&course.patient));
    patient
        .map(|patient| patient.name.clone())
        .unwrap_or_default()
}

fn dose_tapped(body: &Body) -> Option<(i64, i64, bool)> {
    let Body::Tap(data) = body else { return None };
    let mut parts = data.split(':');
    let given = match parts.next()? {
        "g" => true,
        "n" => false,
        _ => return None,
    };
    Some((
        parts.next()?.parse().ok()?,
        parts.next()?.parse().ok()?,
        given,
    ))
}

fn words(body: &Body) -> String {
    match body {
        Body::Text(text) | Body::Edited(text) => text.clone(),
        Body::Medium { caption, .. } => caption.clone().unwrap_or_default(),
        _ => String::new(),
    }
}

/// Until when the vials may be used that a letter says to draw from.
fn limits(books: &Books, letter: &Letter) -> Vec<Instant> {
    let keys: &[&str] = match letter.kind.as_str() {
        "dose.due" | "dose.again" => &["vial", "from_vial", "then_vial"],
        "vial.mix-next" => &["from_vial"],
        _ => return Vec::new(),
    };
    let Some(known) = letter.household.and_then(|id| books.replayed.get(&id)) else {
        return Vec::new();
    };
    let course = known
        .courses
        .values()
        .find(|course| patient_of(known, i64::from(course.no)) == letter.patient());
    let Some(course) = course else {
        return Vec::new();
    };
    let mut limits = Vec::new();
    for key in keys {
        let Some(vial) = letter.fact(key).and_then(serde_json::Value::as_u64) else {
            continue;
        };
        let vial = u32::try_from(vial)
            .ok()
            .and_then(|vial| course.vials.get(&vial));
        // The second of two may have to be mixed first.
        let Some(vial) = vial.filter(|vial| vial.recorded_at <= letter.created) else {
            continue;
        };
        let hours = TimeDelta::hours(course.product.refrigerated_hours.into());
        limits.push(vial.discard_by.min(vial.mixed_at + hours));
    }
    limits
}
