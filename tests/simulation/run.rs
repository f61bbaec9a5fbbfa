//! A world from its first day to its last: the real engine on a real database
//! file, driven by hand.

use super::books::{Books, Chat, Tables};
use super::checks::{Check, Failure, Known, Said};
use super::dice::Dice;
use super::home::CONFIG;
use super::people::{self, Deed};
use super::platform::{PHONE, Platform, Try, Weather};
use super::power::Power;
use super::story::{Lines, Story};
use super::world::{What, World};
use chrono::TimeDelta;
use std::collections::{BTreeMap, BTreeSet};
use std::panic::AssertUnwindSafe;
use std::path::PathBuf;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, LazyLock};
use vialbell::channel::{Channel, Inbox};
use vialbell::clock::ManualClock;
use vialbell::domain::Instant;
use vialbell::domain::arrival::{Arrival, Body};
use vialbell::domain::household::Chat as Place;
use vialbell::domain::zone;
use vialbell::engine::{Confirmation, Engine};
use vialbell::store::Store;
use vialbell::wording::Wording;

/// The clinic's chat; groups have negative numbers.
const CLINIC: &str = "-100";
/// Steps from one comparison of journal and tables to the next.
const COMPARED_EVERY: u64 = 8;
/// As `serve` waits after a failure.
const AFTER_FAILURE: TimeDelta = TimeDelta::seconds(5);

/// The same for all lives: it never changes.
static WORDING: LazyLock<Arc<Wording>> =
    LazyLock::new(|| Arc::new(Wording::load().expect("the wording is complete")));

/// What is broken on purpose, so that a checker has something to find.
#[derive(Debug, Clone, Copy)]
pub struct Break {
    /// From the beginning.
    pub after: TimeDelta,
    pub how: Broken,
    /// The checker that is to find it; the others keep quiet.
    pub found_by: Check,
}

#[derive(Debug, Clone, Copy)]
pub enum Broken {
    Platform(super::platform::Sabotage),
    /// Run on the file behind the program's back, one statement a line.
    Sql(&'static str),
    /// The same, as soon as a dose has been asked for.
    SqlOnceAsked(&'static str),
    /// From here on the program gets another tap than the one that was made.
    Misheard,
}

/// How a run ended.
pub struct Ended {
    pub failure: Option<Failure>,
    pub at: Instant,
    pub story: Vec<String>,
    pub counts: Counts,
}

impl Counts {
    pub fn add(&mut self, other: &Counts) {
        self.steps += other.steps;
        self.crashes += other.crashes;
        self.store_errors += other.store_errors;
        self.unclear += other.unclear;
        self.letters += other.letters;
        self.heard += other.heard;
        self.doses += other.doses;
        self.records += other.records;
        self.red_flags += other.red_flags;
        self.repeats += other.repeats;
        self.faults += other.faults;
        self.commits += other.commits;
        self.sends += other.sends;
        for (kind, count) in &other.by_kind {
            *self.by_kind.entry(kind).or_default() += count;
        }
        for (temper, count) in &other.tempers {
            *self.tempers.entry(temper).or_default() += count;
        }
    }
}

/// What there was to check.
#[derive(Debug, Default, Clone)]
pub struct Counts {
    pub steps: u64,
    pub crashes: u64,
    pub store_errors: u64,
    pub unclear: u64,
    pub letters: u64,
    pub heard: u64,
    pub doses: u64,
    pub records: u64,
    pub red_flags: u64,
    pub repeats: u64,
    pub faults: u64,
    pub commits: u64,
    /// Tries to send.
    pub sends: u64,
    /// Faults that struck, by kind.
    pub by_kind: BTreeMap<&'static str, u64>,
    /// People, by how they answer.
    pub tempers: BTreeMap<&'static str, u64>,
}

impl std::fmt::Display for Counts {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        writeln!(
            f,
            "{} steps, {} commits, {} messages in {} tries to send ({} without an answer, {} came twice), \
             {} updates ({} signs of danger), {} doses due, {} records, {} deaths, {} times the database failed",
            self.steps,
            self.commits,
            self.letters,
            self.sends,
            self.unclear,
            self.repeats,
            self.heard,
            self.red_flags,
            self.doses,
            self.records,
            self.crashes,
            self.store_errors,
        )?;
        writeln!(f, "{:>7}  faults, of which", self.faults)?;
        for (kind, count) in &self.by_kind {
            writeln!(f, "{count:>7}  {kind}")?;
        }
        writeln!(f, "people")?;
        for (temper, count) in &self.tempers {
            writeln!(f, "{count:>7}  {temper}")?;
        }
        Ok(())
    }
}

enum Event {
    Deed {
        home: usize,
        person: usize,
        deed: Deed,
    },
    Staff {
        deed: Deed,
        who: &'static str,
        answers: Option<String>,
    },
    Fault(usize),
    Broken(Broken),
    Start,
    PowerBack,
    LineBack,
    DiskBack,
    LetGo,
    ClockRight,
    Unblocked {
        home: usize,
        person: usize,
    },
    Morning(i64),
}

struct Life<'w> {
    world: &'w World,
    story: Story,
    counts: Counts,
    now: Instant,
    off: TimeDelta,
    end: Instant,
    queue: BTreeMap<(Instant, u64), Event>,
    order: u64,
    file: File,
    power: Arc<Power>,
    platform: Arc<Platform>,
    clock: Arc<ManualClock>,
    engine: Option<Engine>,
    /// When the engine wants to be called, by the machine's clock.
    next: Option<Instant>,
    down: bool,
    disk_full: bool,
    /// Another program holds the database.
    held: bool,
    tables: Tables,
    locker: Tables,
    books: Books,
    known: Known<'w>,
    codes: BTreeMap<(usize, usize), String>,
    addresses: BTreeMap<String, (usize, usize)>,
    shown: BTreeMap<String, BTreeMap<String, u32>>,
    updates: u64,
    good_since: Option<Instant>,
    held_until: Instant,
    closed_until: BTreeMap<(usize, usize), Option<Instant>>,
    on_purpose: Option<Break>,
    misheard: bool,
    /// Households that changed since they were last compared with their journal.
    to_compare: BTreeSet<i64>,
    once_asked: Option<&'static str>,
    failures: Vec<Failure>,
    at_rest: u32,
}

struct File(PathBuf);

impl Drop for File {
    fn drop(&mut self) {
        for end in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(format!("{}{end}", self.0.display()));
        }
    }
}

impl File {
    /// In memory where there is such a place; every eighth seed on the disk.
    fn of(seed: u64) -> File {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let memory = std::path::Path::new("/dev/shm");
        let folder = match memory.is_dir() && !seed.is_multiple_of(8) {
            true => memory.to_owned(),
            false => std::env::temp_dir(),
        };
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        File(folder.join(format!(
            "vialbell-simulation-{}-{count}.db",
            std::process::id()
        )))
    }

    fn url(&self) -> String {
        format!("sqlite:{}", self.0.display())
    }
}

/// Lives a world to its end, or to the first broken promise, on this thread.
pub fn live(world: &World, aloud: bool, on_purpose: Option<Break>) -> Ended {
    let lines = Lines::default();
    let [older, newer] = sorted_releases();
    zone::decide_by(if world.old_rules { older } else { newer });
    let lived = std::panic::catch_unwind(AssertUnwindSafe(|| {
        let runtime = tokio::runtime::Builder::new_current_thread().build();
        runtime.expect("a runtime").block_on(async {
            let story = Story::new(aloud, world, lines.clone());
            let mut life = Life::begin(world, story, on_purpose).await;
            life.go().await;
            let failure = std::mem::take(&mut life.failures).into_iter().next();
            (failure, life.now, life.counts.clone())
        })
    }));
    zone::decide_by(newer);
    let (failure, at, counts) = lived.unwrap_or_else(|panic| {
        let words = panic.downcast_ref::<String>().cloned();
        let failure = Failure {
            check: Check::Panics,
            what: words.unwrap_or_else(|| "a panic without words".into()),
        };
        (Some(failure), world.start, Counts::default())
    });
    let story = std::mem::take(&mut *lines.lock().expect("no panic under the lock"));
    Ended {
        failure,
        at,
        story,
        counts,
    }
}

fn sorted_releases() -> [zone::Release; 2] {
    let mut releases = zone::releases();
    releases.sort_by_key(|release| release.version);
    releases
}

impl<'w> Life<'w> {
    async fn begin(world: &'w World, story: Story, on_purpose: Option<Break>) -> Life<'w> {
        let file = File::of(world.seed);
        let power = Arc::new(Power::default());
        let platform = Arc::new(Platform::new(world.paced, power.died.clone()));
        let clock = Arc::new(ManualClock::at(world.start));
        let store = Store::open(&file.url()).await.expect("a new file");
        let tables = Tables::open(&file.0).await;
        let locker = Tables::open(&file.0).await;
        let mut life = Life {
            world,
            story,
            counts: Counts::default(),
            now: world.start,
            off: TimeDelta::zero(),
            end: world.start + TimeDelta::days(world.days),
            queue: BTreeMap::new(),
            order: 0,
            file,
            power,
            platform,
            clock,
            engine: None,
            next: None,
            down: false,
            disk_full: false,
            held: false,
            tables,
            locker,
            books: Books::default(),
            known: Known::new(&world.homes, !world.old_rules),
            codes: BTreeMap::new(),
            addresses: BTreeMap::new(),
            shown: BTreeMap::new(),
            updates: 0,
            good_since: Some(world.start),
            held_until: world.start,
            closed_until: BTreeMap::new(),
            on_purpose,
            misheard: false,
            to_compare: BTreeSet::new(),
            once_asked: None,
            failures: Vec::new(),
            at_rest: 0,
        };
        let engine = life.new_engine(store);
        let noted = engine.note_zone_rules(life.now).await;
        noted.expect("nothing is broken yet");
        life.engine = Some(engine);
        life.enrol().await;
        life
    }

    fn new_engine(&self, store: Store) -> Engine {
        let channels: Vec<Arc<dyn Channel>> = vec![self.platform.clone()];
        Engine::new(
            store.watched(self.power.clone()),
            WORDING.clone(),
            self.world.policy.clone(),
            CONFIG.formulary.clone(),
            channels,
            self.clock.clone(),
        )
    }

    async fn enrol(&mut self) {
        let engine = self.engine.take().expect("it has just begun");
        let clinic = Place {
            channel: PHONE.into(),
            address: CLINIC.into(),
        };
        engine
            .bind_clinic_chat(&clinic)
            .await
            .expect("nothing is broken yet");
        for (index, home) in self.world.homes.iter().enumerate() {
            for who in &home.people {
                *self.counts.tempers.entry(who.temper.name()).or_default() += 1;
            }
            if home.together && home.people.len() > 1 {
                *self.counts.tempers.entry("two at once").or_default() += 1;
            }
            let mut household = None;
            for order in &home.orders {
                let confirmation = match home.asked {
                    true => Confirmation::Asked,
                    false => Confirmation::Counted,
                };
                let enrolled = engine
                    .enrol(order, household, "Ines", confirmation, self.now)
                    .await
                    .unwrap_or_else(|error| panic!("seed {}: {error}", self.world.seed));
                household = Some(enrolled.household);
                for (person, (_, code)) in enrolled.invitations.into_iter().enumerate() {
                    self.codes.insert((index, person), code);
                }
            }
            self.known
                .households
                .push(household.expect("a home has an order"));
            for (person, who) in home.people.iter().enumerate() {
                self.addresses.insert(who.address.clone(), (index, person));
                let code = self.codes[&(index, person)].clone();
                let join = Deed {
                    after: TimeDelta::zero(),
                    body: Body::Join(code),
                    red_flag: false,
                };
                let at = self.now + TimeDelta::minutes(who.joins_after);
                self.put(
                    at,
                    Event::Deed {
                        home: index,
                        person,
                        deed: join,
                    },
                );
            }
        }
        for (index, fault) in self.world.faults.iter().enumerate() {
            self.put(fault.at, Event::Fault(index));
        }
        if let Some(on_purpose) = self.on_purpose {
            self.put(self.now + on_purpose.after, Event::Broken(on_purpose.how));
        }
        for day in 0..self.world.days {
            self.put(self.now + TimeDelta::days(day), Event::Morning(day));
        }
        self.engine = Some(engine);
    }

    fn put(&mut self, at: Instant, event: Event) {
        self.order += 1;
        self.queue.insert((at, self.order), event);
    }

    fn disk_trouble(&self) -> bool {
        self.disk_full || self.held
    }

    fn machine(&self) -> Instant {
        self.now + self.off
    }

    /// What waits for an instant by the machine's clock waits longer by as much
    /// as that clock goes back.
    fn turn_clock(&mut self, off: TimeDelta) {
        let back = (self.off - off).max(TimeDelta::zero());
        if self.held_until > self.now {
            self.held_until += back;
        }
        self.off = off;
    }

    async fn go(&mut self) {
        self.step().await;
        // A last day on which nothing goes wrong and nobody does anything.
        let last = self.end + TimeDelta::days(1);
        let mut mended = false;
        while self.failures.is_empty() {
            if self.now >= self.end && !mended {
                mended = true;
                self.mend().await;
            }
            let event = self.queue.keys().next().map(|(at, _)| *at);
            let wanted = self
                .next
                .filter(|_| !self.down)
                .map(|next| (next - self.off).max(self.now));
            let Some(at) = event.into_iter().chain(wanted).min() else {
                break;
            };
            let at = if mended { at } else { at.min(self.end) };
            if at > last {
                break;
            }
            self.rest(at);
            self.now = at;
            while let Some(entry) = self.queue.first_entry() {
                if entry.key().0 > self.now {
                    break;
                }
                let event = entry.remove();
                self.happen(event, mended).await;
            }
            self.step().await;
        }
        if self.failures.is_empty() {
            self.now = last;
            self.step().await;
            self.farewell();
        }
    }

    /// Whether the program comes to rest at an instant.
    fn rest(&mut self, at: Instant) {
        self.at_rest = if at == self.now { self.at_rest + 1 } else { 0 };
        if self.at_rest > 100 {
            self.failures.push(Failure {
                check: Check::Rest,
                what: format!("called again and again at {at}"),
            });
        }
    }

    /// Everything works again.
    async fn mend(&mut self) {
        self.platform.calm();
        if self.disk_trouble() {
            self.queue
                .retain(|_, event| !matches!(event, Event::LetGo | Event::DiskBack));
            self.happen(Event::DiskBack, true).await;
            self.happen(Event::LetGo, true).await;
        }
        self.turn_clock(TimeDelta::zero());
        if self.down {
            self.down = false;
            self.start().await;
        }
        self.good_since = Some(self.now);
    }

    async fn happen(&mut self, event: Event, mended: bool) {
        match event {
            Event::Deed { home, person, deed } if !mended => self.act(home, person, deed),
            Event::Staff { deed, who, answers } if !mended => self.staff(deed, who, answers),
            Event::Fault(index) if !mended => self.fault(index).await,
            Event::Broken(how) if !mended => self.broken(how).await,
            Event::Start if self.down => self.start().await,
            Event::PowerBack => {
                self.down = false;
                self.start().await;
            }
            // Whether all is good again the next step finds out: another fault may last.
            Event::LineBack => {
                self.platform.outage(false);
                self.story.note(self.now, "the line is back");
            }
            Event::DiskBack => {
                self.power.fill_disk(false);
                self.disk_full = false;
                self.story.note(self.now, "there is room on the disk again");
            }
            Event::LetGo => {
                self.locker.run_if_open("rollback").await;
                self.power.be_impatient(false);
                self.held = false;
                self.story
                    .note(self.now, "the other program lets go of the database");
            }
            Event::ClockRight => {
                self.turn_clock(TimeDelta::zero());
                self.story
                    .note(self.now, "the machine's clock is right again");
            }
            Event::Unblocked { home, person } => {
                let address = self.address(home, person);
                self.platform.close(&address, false);
                self.closed_until.insert((home, person), Some(self.now));
                self.update(
                    Some((home, person)),
                    &address,
                    Body::Back,
                    None,
                    None,
                    false,
                );
            }
            Event::Morning(day) if !mended => self.morning(day),
            _ => {}
        }
    }

    fn address(&self, home: usize, person: usize) -> String {
        let found = self
            .addresses
            .iter()
            .rev()
            .find(|(_, who)| **who == (home, person));
        // The newest address sorts last: a move appends to it.
        found
            .map(|(address, _)| address.clone())
            .unwrap_or_default()
    }

    fn morning(&mut self, day: i64) {
        for (index, home) in self.world.homes.iter().enumerate() {
            for (person, who) in home.people.iter().enumerate() {
                let address = self.address(index, person);
                let seen: Vec<String> = self
                    .shown
                    .get(&address)
                    .map(|seen| seen.keys().cloned().collect())
                    .unwrap_or_default();
                for deed in people::on_a_day(self.world.seed, home, who, day, &seen) {
                    let at = self.now + deed.after;
                    self.put(
                        at,
                        Event::Deed {
                            home: index,
                            person,
                            deed,
                        },
                    );
                }
            }
        }
    }

    // ------------------------------------------------------------- people

    fn act(&mut self, home: usize, person: usize, deed: Deed) {
        let address = self.address(home, person);
        if self.platform.is_closed(&address) {
            return;
        }
        if deed.red_flag {
            self.counts.red_flags += 1;
        }
        self.story.says(
            self.now,
            home,
            self.world.homes[home].people[person].name,
            &deed.body,
        );
        self.update(
            Some((home, person)),
            &address,
            deed.body,
            None,
            None,
            deed.red_flag,
        );
    }

    fn staff(&mut self, deed: Deed, who: &'static str, answers: Option<String>) {
        self.story.clinic_says(self.now, who, &deed.body);
        self.update(None, CLINIC, deed.body, answers, Some(who), false);
    }

    fn update(
        &mut self,
        by: Option<(usize, usize)>,
        address: &str,
        body: Body,
        reply_to: Option<String>,
        sender: Option<&str>,
        red_flag: bool,
    ) {
        self.updates += 1;
        let external_id = self.updates.to_string();
        let said = Said {
            by,
            body: body.clone(),
            red_flag,
        };
        self.known.said.insert(external_id.clone(), said);
        self.platform.push(Arrival {
            external_id,
            address: address.into(),
            sender: sender.map(str::to_owned),
            sender_id: sender.map(|name| format!("{}", 7_000 + name.len())),
            reply_to,
            body: match body {
                Body::Tap(_) if self.misheard => Body::Tap("x:999".into()),
                body => body,
            },
        });
    }

    /// People read what has come.
    fn read(&mut self, tried: &Try) {
        let outgoing = &tried.outgoing;
        let seen = self.shown.entry(outgoing.address.clone()).or_default();
        let mut nth = 0;
        for button in &outgoing.buttons {
            let count = seen.entry(button.data.clone()).or_default();
            nth = nth.max(*count);
            *count += 1;
        }
        if outgoing.address == CLINIC {
            self.story.clinic_hears(self.now, outgoing);
            let deeds = people::clinic_reads(
                self.world.seed,
                self.world.staff,
                &outgoing.buttons,
                &tried.number,
                nth,
            );
            for (deed, who, answers) in deeds {
                let at = self.now + deed.after;
                self.put(at, Event::Staff { deed, who, answers });
            }
            return;
        }
        let Some((home, person)) = self.addresses.get(&outgoing.address).copied() else {
            return;
        };
        let place = &self.world.homes[home];
        let who = &place.people[person];
        self.story.hears(self.now, home, who.name, outgoing);
        for deed in people::reads(
            self.world.seed,
            place,
            who,
            &outgoing.buttons,
            nth,
            self.now,
        ) {
            let at = self.now + deed.after.max(TimeDelta::seconds(1));
            self.put(at, Event::Deed { home, person, deed });
        }
    }

    // ------------------------------------------------------------- faults

    async fn fault(&mut self, index: usize) {
        let what = self.world.faults[index].what.clone();
        self.counts.faults += 1;
        *self.counts.by_kind.entry(what.kind()).or_default() += 1;
        self.story
            .note(self.now, &format!("fault {index}: {what:?}"));
        let now = self.now;
        let after = |minutes: i64| now + TimeDelta::minutes(minutes);
        match what {
            What::CrashAtCommit { nth, lasts } => self.power.crash_at_commit(nth, lasts),
            What::CrashAtSend { nth, arrived } => self.platform.crash_at_send(nth, arrived),
            What::Down { minutes } => {
                let back = after(minutes);
                self.die(back);
            }
            What::Outage { minutes } => {
                self.platform.outage(true);
                self.good_since = None;
                let back = after(minutes);
                self.put(back, Event::LineBack);
            }
            What::TooMany { sends, seconds } => {
                self.platform.weather(Weather::TooMany(seconds), sends)
            }
            What::Lost { sends } => self.platform.weather(Weather::Lost, sends),
            What::Doubled { sends } => self.platform.weather(Weather::Doubled, sends),
            What::Repeated { updates } => self.platform.repeat(updates),
            What::Shuffled { batches } => self.platform.shuffle(batches),
            What::Clock { off_s, minutes } => {
                self.turn_clock(TimeDelta::seconds(off_s));
                let back = after(minutes);
                self.put(back, Event::ClockRight);
            }
            What::DiskFull { minutes } => {
                self.power.fill_disk(true);
                self.disk_full = true;
                self.good_since = None;
                let back = after(minutes);
                self.put(back, Event::DiskBack);
            }
            What::Busy { minutes } => {
                self.power.be_impatient(true);
                self.locker.run_if_open("rollback").await;
                self.locker.run("begin immediate").await;
                self.held = true;
                self.good_since = None;
                let back = after(minutes);
                self.put(back, Event::LetGo);
            }
            What::NewRules => {
                let [_, newer] = sorted_releases();
                zone::decide_by(newer);
                self.known.new_rules = true;
                let back = after(1);
                self.die(back);
            }
            What::Blocked {
                home,
                person,
                minutes,
            } => {
                if self.known.households.len() > home
                    && self.world.homes[home].people.len() > person
                {
                    let address = self.address(home, person);
                    self.platform.close(&address, true);
                    self.closed_until.insert((home, person), None);
                    self.update(
                        Some((home, person)),
                        &address,
                        Body::Gone,
                        None,
                        None,
                        false,
                    );
                    let back = after(minutes);
                    self.put(back, Event::Unblocked { home, person });
                }
            }
            What::Moves { home, person } => {
                if self.known.households.len() > home
                    && self.world.homes[home].people.len() > person
                {
                    let from = self.address(home, person);
                    let to = format!("{from}5");
                    self.platform.move_chat(&from, &to);
                    let moved = Body::Moved { to: to.clone() };
                    self.update(Some((home, person)), &from, moved, None, None, false);
                    self.addresses.insert(to, (home, person));
                }
            }
        }
    }

    async fn broken(&mut self, how: Broken) {
        match how {
            Broken::Platform(how) => self.platform.sabotage(how),
            Broken::Sql(lines) => self.tables.run_lines(lines).await,
            Broken::SqlOnceAsked(lines) => self.once_asked = Some(lines),
            Broken::Misheard => self.misheard = true,
        }
    }

    /// The power goes; it comes back later.
    fn die(&mut self, back: Instant) {
        self.engine = None;
        self.down = true;
        self.good_since = None;
        self.counts.crashes += 1;
        self.put(back, Event::PowerBack);
    }

    async fn start(&mut self) {
        if self.engine.is_some() {
            return;
        }
        if self.disk_trouble() {
            // Whoever starts it sees that the disk or the database is not to be had.
            self.down = true;
            self.put(self.now + TimeDelta::minutes(1), Event::Start);
            return;
        }
        self.power.reconnected();
        let store = Store::open(&self.file.url())
            .await
            .expect("the file is whole after every crash");
        let engine = self.new_engine(store);
        self.clock.set(self.machine());
        // As `serve` does when it starts.
        let died = self.power.died.clone();
        let noted = tokio::select! {
            biased;
            () = died.notified() => None,
            noted = engine.note_zone_rules(self.machine()) => Some(noted),
        };
        let Some(noted) = noted else {
            return self.died(engine);
        };
        noted.expect("nothing is wrong with the disk");
        self.engine = Some(engine);
        self.down = false;
        self.next = Some(self.machine());
        if !self.platform.is_out() {
            self.good_since = Some(self.now);
        }
        self.story.note(self.now, "the program starts");
    }

    // --------------------------------------------------------------- steps

    /// The program does what is due, and everybody looks at what came of it.
    async fn step(&mut self) {
        if self.down {
            return;
        }
        self.counts.steps += 1;
        let machine = self.machine();
        self.clock.set(machine);
        self.platform.set_clock(machine);
        if self.platform.is_stormy() {
            self.good_since = None;
        } else if self.good_since.is_none() && !self.platform.is_out() && !self.disk_trouble() {
            self.good_since = Some(self.now);
        }
        let engine = self.engine.take().expect("it is not down");
        let died = self.power.died.clone();
        let mut ended = How::Through(None);
        let mut dice = Dice::of(self.world.seed, &format!("batch {}", self.updates));
        let batch = self.platform.batch(&mut dice);
        if !batch.is_empty() {
            let ids: Vec<String> = batch
                .iter()
                .map(|arrival| arrival.external_id.clone())
                .collect();
            ended = tokio::select! {
                biased;
                () = died.notified() => How::Died,
                accepted = engine.accept(PHONE, batch) => match accepted {
                    Ok(()) => {
                        self.platform.acknowledge();
                        self.known.taken.extend(ids);
                        How::Through(None)
                    }
                    Err(error) => How::Failed(error.to_string()),
                },
            };
        }
        if let How::Through(_) = ended {
            ended = tokio::select! {
                biased;
                () = died.notified() => How::Died,
                step = engine.step(machine) => match step {
                    Ok(step) => How::Through(step.next),
                    Err(error) => How::Failed(error.to_string()),
                },
            };
        }
        match &ended {
            How::Through(next) => {
                self.next = next.map(whole_millis);
                self.engine = Some(engine);
            }
            How::Failed(error) => {
                self.counts.store_errors += 1;
                self.story.note(self.now, &format!("it could not: {error}"));
                if !self.disk_trouble() {
                    self.failures.push(Failure {
                        check: Check::Rest,
                        what: format!("nothing is wrong with the disk, and yet: {error}"),
                    });
                }
                // Not every five seconds of an hour: the disk does not change meanwhile.
                self.next = Some(machine + AFTER_FAILURE.max(TimeDelta::minutes(3)));
                self.engine = Some(engine);
            }
            How::Died => self.died(engine),
        }
        self.observe(&ended).await;
    }

    /// The program died at a commit or a send; somebody starts it again.
    fn died(&mut self, engine: Engine) {
        self.story.note(self.now, "the program dies");
        self.counts.crashes += 1;
        drop(engine);
        self.down = true;
        self.good_since = None;
        let mut dice = Dice::of(self.world.seed, &format!("start {}", self.counts.crashes));
        let back = self.now + TimeDelta::seconds(dice.between(1, 120));
        self.put(back, Event::PowerBack);
    }

    async fn observe(&mut self, ended: &How) {
        let through = matches!(ended, How::Through(_));
        let mut open: BTreeSet<i64> = self.books.unsettled.clone();
        let news = self.books.read(&mut self.tables, &WORDING, self.now).await;
        open.extend(&news.letters);
        let asked = news
            .letters
            .iter()
            .any(|id| self.books.letters[id].kind == "dose.due");
        if let Some(lines) = self.once_asked.take_if(|_| asked) {
            self.tables.run_lines(lines).await;
            self.next = Some(self.machine() + TimeDelta::seconds(1));
        }
        self.counts.letters += news.letters.len() as u64;
        self.counts.heard += news.heard.len() as u64;
        let tries = self.platform.tries();
        self.counts.sends += tries.len() as u64;
        self.counts.commits = self.power.commits();
        if let Some(wait_s) = tries
            .iter()
            .map(|tried| tried.wait_s)
            .max()
            .filter(|s| *s > 0)
        {
            let until = self.now + TimeDelta::seconds(wait_s);
            self.good_since = self.good_since.map(|since| since.max(until));
            self.held_until = self.held_until.max(until);
        }
        let tries: Vec<(Try, Vec<Chat>)> = tries
            .into_iter()
            .map(|tried| {
                let chats = self.chats(&tried.outgoing.address);
                (tried, chats)
            })
            .collect();
        let mut failures = Vec::new();
        let letters = self
            .known
            .screens(&mut self.books, &tries, &open, &mut failures);
        let sends: Vec<(Try, Option<i64>)> = tries
            .into_iter()
            .map(|(tried, _)| tried)
            .zip(letters)
            .collect();
        let sure = through && !self.disk_trouble();
        self.known
            .settled_sends(&self.books, &sends, sure, &mut failures);
        self.known.letters(&self.books, &news, &mut failures);
        self.known.planned_right(&news, &mut failures);
        self.known.inbox(&self.books, &news, &mut failures);
        self.known
            .tables(&self.books, &mut self.tables, &news, &mut failures)
            .await;
        if through {
            let machine = self.machine();
            self.known.nothing_waits(&self.books, &mut failures);
            self.known.due_doses(&self.books, machine, &mut failures);
            let good_since = |chat: &Chat| self.good_since_of(chat);
            self.known
                .in_time(&self.books, self.now, &good_since, &mut failures);
            self.to_compare.extend(&news.touched);
            // Loading is dear: what changed is compared every few steps, and at the end.
            if self.counts.steps.is_multiple_of(COMPARED_EVERY) || self.now > self.end {
                let touched = std::mem::take(&mut self.to_compare);
                self.replays(&touched, &mut failures).await;
            }
        }
        if let Some(on_purpose) = self.on_purpose {
            failures.retain(|failure| failure.check == on_purpose.found_by);
        }
        self.failures.append(&mut failures);
        for (tried, _) in sends {
            self.counts.unclear += u64::from(!tried.answered);
            if tried.arrived {
                self.read(&tried);
            }
        }
    }

    /// The journal replays to the household that is loaded.
    async fn replays(&mut self, touched: &BTreeSet<i64>, failures: &mut Vec<Failure>) {
        if self.disk_trouble() {
            return;
        }
        let Some(engine) = &self.engine else { return };
        for id in touched {
            self.power.look(true);
            let loaded = engine.household(*id).await;
            self.power.look(false);
            let loaded = match loaded {
                Ok(loaded) => loaded,
                Err(error) => {
                    failures.push(Failure {
                        check: Check::Replay,
                        what: error.to_string(),
                    });
                    continue;
                }
            };
            if loaded.as_ref() != self.books.replayed.get(id) {
                failures.push(Failure {
                    check: Check::Replay,
                    what: format!(
                        "household {id}: loaded {loaded:?}, replayed {:?}",
                        self.books.replayed.get(id)
                    ),
                });
            }
        }
    }

    /// Since when nothing has stood in the way of a chat's messages.
    fn good_since_of(&self, chat: &Chat) -> Option<Instant> {
        let good = self.good_since?.max(self.held_until);
        let (Some(household), carer, _) = chat else {
            return Some(good);
        };
        let home = self
            .known
            .households
            .iter()
            .position(|id| id == household)?;
        let person = usize::try_from(*carer - 1).ok()?;
        match self.closed_until.get(&(home, person)) {
            None => Some(good),
            Some(None) => None,
            Some(Some(opened)) => Some(good.max(*opened)),
        }
    }

    /// Whose letters may go to an address.
    fn chats(&self, address: &str) -> Vec<Chat> {
        if address == CLINIC {
            return vec![(None, 0, None)];
        }
        let mut chats = vec![(None, 0, Some(address.to_owned()))];
        if let Some((home, person)) = self.addresses.get(address) {
            let carer = i64::try_from(*person).unwrap_or(0) + 1;
            chats.insert(0, (Some(self.known.households[*home]), carer, None));
        }
        chats
    }

    /// When all is over nothing is left undone.
    fn farewell(&mut self) {
        for letter in self.books.letters.values() {
            self.counts.repeats += u64::from(letter.arrived.saturating_sub(1));
            let for_clinic = letter.carer == 0 && letter.stranger.is_none();
            // What is told again, higher up, is told as long as it is of use.
            let for_ever = letter.message["useful_until"].is_null();
            if for_clinic && for_ever && letter.arrived == 0 {
                self.failures.push(Failure {
                    check: Check::InTime,
                    what: format!("the clinic never got: {:?} ({})", letter.text, letter.state),
                });
            }
        }
        for (household, known) in &self.books.replayed {
            self.counts.records += known.administrations.len() as u64;
            for course in known.courses.values() {
                self.counts.doses += course.touched.len() as u64;
                let planned: Vec<_> = course
                    .touched
                    .values()
                    .map(|dose| dose.planned.at)
                    .collect();
                let over = course.touched.len() as u32 == course.doses
                    && planned
                        .iter()
                        .all(|at| *at + TimeDelta::hours(4) < self.now);
                if over && course.ended_at.is_none() && course.confirmed.is_some() {
                    self.failures.push(Failure {
                        check: Check::DueDose,
                        what: format!("household {household}, course {} never ends", course.no),
                    });
                }
            }
        }
    }
}

/// The clock tells whole milliseconds: the first one that is not too early.
fn whole_millis(at: Instant) -> Instant {
    let whole = Instant::from_timestamp_millis(at.timestamp_millis()).unwrap_or(at);
    match whole < at {
        true => whole + TimeDelta::milliseconds(1),
        false => whole,
    }
}

/// How a step ended.
enum How {
    Through(Option<Instant>),
    Failed(String),
    Died,
}
