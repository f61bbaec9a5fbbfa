//! Flags and wiring only.

use anyhow::Context;
use clap::{Parser, Subcommand};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use tokio::sync::watch;
use vialbell::channel::page;
use vialbell::clock::{Clock, SystemClock};
use vialbell::config::{Config, load_prescription};
use vialbell::demo::Demo;
use vialbell::domain::message::Paper;
use vialbell::engine::{Confirmation, Confirmed, Engine};
use vialbell::rehearse::{self, Happened, Printer};
use vialbell::store::Store;
use vialbell::wording::Wording;
use vialbell::{check, serve};

/// Reminds owners of injections at the right local time, keeps the books of
/// every vial, and calls the clinic in for everything else.
///
/// Without a command it opens a demonstration in the browser: two phones, an
/// invented clinic, and a clock that you move.
#[derive(Parser)]
#[command(version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Option<Command>,
    /// The demonstration's port on this machine; 0 takes a free one.
    #[arg(long, value_name = "PORT")]
    port: Option<u16>,
}

#[derive(Subcommand)]
enum Command {
    /// Run the clinic's bot on Telegram (token in VIALBELL_TELEGRAM_TOKEN).
    Serve {
        /// The clinic's configuration.
        #[arg(long, value_name = "FILE", default_value = "clinic.toml")]
        config: PathBuf,
    },
    /// Enrol a prescription and print the carers' invitations.
    Enrol {
        /// The clinic's configuration.
        #[arg(long, value_name = "FILE", default_value = "clinic.toml")]
        config: PathBuf,
        /// Add it to this household instead of making a new one.
        #[arg(long, value_name = "NUMBER")]
        household: Option<i64>,
        /// Who enters the order; somebody else has to confirm it.
        #[arg(long, value_name = "NAME", default_value = "terminal")]
        by: String,
        /// The prescription file.
        file: PathBuf,
    },
    /// Confirm an order that somebody else entered, after checking its arithmetic.
    Confirm {
        /// The clinic's configuration.
        #[arg(long, value_name = "FILE", default_value = "clinic.toml")]
        config: PathBuf,
        /// Who has checked it.
        #[arg(long, value_name = "NAME")]
        by: String,
        /// The household, as `enrol` printed it.
        household: i64,
        /// The course, as `enrol` printed it.
        course: u32,
    },
    /// Add a carer to a household, or take one off.
    Carer {
        /// The clinic's configuration.
        #[arg(long, value_name = "FILE", default_value = "clinic.toml")]
        config: PathBuf,
        /// Who does it.
        #[arg(long, value_name = "NAME", default_value = "terminal")]
        by: String,
        /// What is done.
        what: CarerChange,
        /// The household.
        household: i64,
        /// The carer's name.
        name: String,
    },
    /// Write a paper of a course: the take-home sheet, its picture, or a calendar file.
    Paper {
        /// The clinic's configuration.
        #[arg(long, value_name = "FILE", default_value = "clinic.toml")]
        config: PathBuf,
        /// Which paper.
        kind: PaperKind,
        /// The household.
        household: i64,
        /// The course.
        course: u32,
        /// Where it is written.
        file: PathBuf,
    },
    /// Write the take-home sheet of a prescription, without enrolling it.
    Sheet {
        /// The clinic's configuration; the invented example where left out.
        #[arg(long, value_name = "FILE")]
        config: Option<PathBuf>,
        /// The prescription file.
        prescription: PathBuf,
        /// Where the PDF is written.
        file: PathBuf,
    },
    /// Read the configuration and prescriptions, say everything that is wrong, and change nothing.
    Check {
        /// The clinic's configuration; the invented example where left out.
        #[arg(long, value_name = "FILE")]
        config: Option<PathBuf>,
        /// A prescription file; may be given more than once.
        #[arg(long, value_name = "FILE")]
        prescription: Vec<PathBuf>,
    },
    /// Walk a course ahead of time: each vial with its mixing, its end, and what is thrown away.
    Forecast {
        /// The clinic's configuration; the invented example where left out.
        #[arg(long, value_name = "FILE")]
        config: Option<PathBuf>,
        /// The prescription file.
        prescription: PathBuf,
    },
    /// Play a script against the real program, in a database that is thrown away.
    Rehearse {
        /// The clinic's configuration; the invented example where left out.
        #[arg(long, value_name = "FILE")]
        config: Option<PathBuf>,
        /// A prescription file; may be given more than once.
        #[arg(long, value_name = "FILE", required = true)]
        prescription: Vec<PathBuf>,
        /// Print one JSON object a line for every message sent.
        #[arg(long)]
        json: bool,
        /// The script; `-` reads it from standard input.
        script: PathBuf,
    },
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum CarerChange {
    /// Print an invitation for somebody new, or anew for somebody who has not joined.
    Add,
    /// Send nothing more to them, and hear nothing more from them.
    Remove,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum PaperKind {
    /// A page that stands on its own (PDF).
    Sheet,
    /// The course at a glance (PNG).
    Picture,
    /// The doses to come, for a phone's calendar (iCalendar).
    Calendar,
}

#[tokio::main]
async fn main() -> ExitCode {
    let arguments = Arguments::parse();
    // A rehearsal is its dialogue; what a server would log belongs to nobody there.
    let usual = match arguments.command {
        Some(Command::Rehearse { .. }) => "error",
        _ => "warn,vialbell=info",
    };
    let log = tracing_subscriber::EnvFilter::try_from_env("VIALBELL_LOG")
        .unwrap_or_else(|_| tracing_subscriber::EnvFilter::new(usual));
    tracing_subscriber::fmt()
        .with_env_filter(log)
        .with_writer(std::io::stderr)
        .init();
    let (done, code) = match arguments.command {
        None => (demonstrate(arguments.port).await, 1),
        Some(Command::Serve { config }) => (run(&config).await, 1),
        Some(Command::Enrol {
            config,
            household,
            by,
            file,
        }) => (enrol(&config, household, &by, &file).await, 1),
        Some(Command::Confirm {
            config,
            by,
            household,
            course,
        }) => (confirm(&config, household, course, &by).await, 1),
        Some(Command::Carer {
            config,
            by,
            what,
            household,
            name,
        }) => (carer(&config, &by, what, household, &name).await, 1),
        Some(Command::Paper {
            config,
            kind,
            household,
            course,
            file,
        }) => (paper(&config, kind, household, course, &file).await, 1),
        Some(Command::Sheet {
            config,
            prescription,
            file,
        }) => (sheet(config.as_deref(), &prescription, &file).await, 1),
        Some(Command::Forecast {
            config,
            prescription,
        }) => (forecast(config.as_deref(), &prescription), 1),
        Some(Command::Check {
            config,
            prescription,
        }) => (examine(config.as_deref(), &prescription).await, 1),
        Some(Command::Rehearse {
            config,
            prescription,
            json,
            script,
        }) => (
            play(config.as_deref(), &prescription, json, &script).await,
            2,
        ),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error:#}");
            ExitCode::from(code)
        }
    }
}

/// Prints a line. A reader that went away, such as `head`, is no failure.
fn say(line: &str) -> anyhow::Result<()> {
    match writeln!(std::io::stdout(), "{line}") {
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        said => said.context("standard output"),
    }
}

fn load_config(path: Option<&Path>) -> anyhow::Result<Config> {
    match path {
        Some(path) => Config::load(path).map_err(anyhow::Error::from),
        None => Ok(Config::built_in()),
    }
}

async fn demonstrate(port: Option<u16>) -> anyhow::Result<()> {
    let folder = std::env::temp_dir().join(format!("vialbell-{}", std::process::id()));
    let demo = Demo::open(&folder).await?;
    let wanted = port.unwrap_or(Config::built_in().settings.page_port);
    let listener = match page::bind(wanted).await {
        Ok(listener) => listener,
        // The usual port may be taken by another demonstration; one that was asked for must be had.
        Err(_) if port.is_none() => page::bind(0).await?,
        Err(error) => return Err(error).with_context(|| format!("port {wanted}")),
    };
    say(&format!(
        "Two phones and a clock, with invented figures: http://{}",
        listener.local_addr()?
    ))?;
    say(&format!(
        "The records are in {}. Ctrl-C ends it and removes them.",
        demo.database().await.display()
    ))?;
    let router = page::router(demo.channel(), demo.clone(), demo.clone());
    let mut stop = stop_signal();
    tokio::select! {
        served = axum::serve(listener, router).into_future() => served?,
        _ = stop.wait_for(|stop| *stop) => {}
    }
    drop(demo);
    // Empty by now; what is not empty is not ours to remove.
    let _ = std::fs::remove_dir(&folder);
    Ok(())
}

async fn run(config: &Path) -> anyhow::Result<()> {
    let config = Config::load(config)?;
    let token = std::env::var("VIALBELL_TELEGRAM_TOKEN")
        .context("VIALBELL_TELEGRAM_TOKEN: put the bot's token in this environment variable")?;
    serve::serve(config, &token, stop_signal()).await
}

/// True once somebody asks the program to stop.
fn stop_signal() -> watch::Receiver<bool> {
    let (stop, stopped) = watch::channel(false);
    tokio::spawn(async move {
        use tokio::signal::unix::{SignalKind, signal};
        let terminated = async {
            match signal(SignalKind::terminate()) {
                Ok(mut terminate) => terminate.recv().await.is_some(),
                Err(_) => std::future::pending().await,
            }
        };
        tokio::select! {
            _ = tokio::signal::ctrl_c() => {}
            _ = terminated => {}
        }
        // Whoever listened may have ended by itself.
        let _ = stop.send(true);
        stop.closed().await;
    });
    stopped
}

async fn enrol(config: &Path, household: Option<i64>, by: &str, file: &Path) -> anyhow::Result<()> {
    let config = Config::load(config)?;
    let order = load_prescription(file, &config.formulary, &Wording::load()?.languages())?;
    // Before the database is touched: a refused order leaves nothing behind.
    if let Err(errors) = order.work_out(&config.policy, SystemClock.now()) {
        let file = file.display();
        let lines: Vec<String> = errors.iter().map(|e| format!("{file}: {e}")).collect();
        anyhow::bail!("{}", lines.join("\n"));
    }
    let needs_second = config.policy.second_person;
    let engine = engine_at_the_terminal(config).await?;
    let enrolled = engine
        .enrol(&order, household, by, Confirmation::Asked, engine.now())
        .await?;
    say(&format!(
        "household {}, course {}",
        enrolled.household, enrolled.course
    ))?;
    for (name, code) in &enrolled.invitations {
        say(&format!("{name}: {}", engine.invitation_link(code)))?;
    }
    if needs_second {
        say(&format!(
            "Nothing is asked for until a second person has confirmed it: in the clinic's chat, or with\n\
             vialbell confirm --by NAME {} {}",
            enrolled.household, enrolled.course
        ))?;
    }
    Ok(())
}

async fn confirm(config: &Path, household: i64, course: u32, by: &str) -> anyhow::Result<()> {
    let engine = engine_at_the_terminal(Config::load(config)?).await?;
    match engine.confirm(household, course, by, engine.now()).await? {
        Confirmed::Now => say(&format!("confirmed by {by}: it takes effect now"))?,
        Confirmed::Before(who) => say(&format!("it was confirmed before, by {who}"))?,
        Confirmed::SamePerson => {
            anyhow::bail!("{by} entered this order; a second person has to confirm it")
        }
        Confirmed::NoSuchCourse => anyhow::bail!("household {household} has no course {course}"),
    }
    Ok(())
}

/// An engine that sends nothing by itself: what it commits is sent by the one that serves.
async fn engine_at_the_terminal(config: Config) -> anyhow::Result<Engine> {
    let store = Store::open(&config.settings.store_url).await?;
    let clock = Arc::new(SystemClock);
    let engine = Engine::new(
        store,
        Wording::load()?,
        config.policy,
        config.formulary,
        Vec::new(),
        clock,
    );
    if let Some(name) = &config.settings.bot_name {
        engine.set_bot_name(name);
    }
    Ok(engine)
}

async fn carer(
    config: &Path,
    by: &str,
    what: CarerChange,
    household: i64,
    name: &str,
) -> anyhow::Result<()> {
    let engine = engine_at_the_terminal(Config::load(config)?).await?;
    match what {
        CarerChange::Add => {
            let code = engine.add_carer(household, name, by, engine.now()).await?;
            println!("{name}: {}", engine.invitation_link(&code));
        }
        CarerChange::Remove => {
            engine
                .remove_carer(household, name, by, engine.now())
                .await?;
            println!("{name} was taken off household {household}");
        }
    }
    Ok(())
}

async fn paper(
    config: &Path,
    kind: PaperKind,
    household: i64,
    course: u32,
    file: &Path,
) -> anyhow::Result<()> {
    let engine = engine_at_the_terminal(Config::load(config)?).await?;
    let known = engine.household(household).await?;
    let known = known.with_context(|| format!("there is no household {household}"))?;
    let paper = match kind {
        PaperKind::Sheet => Paper::Sheet { course },
        PaperKind::Picture => Paper::Picture { course },
        PaperKind::Calendar => Paper::Calendar { course },
    };
    let made = engine.make_paper(&known, paper, None, engine.now())?;
    let made = made.with_context(|| format!("household {household} has no course {course}"))?;
    std::fs::write(file, made.bytes).with_context(|| file.display().to_string())
}

/// The sheet of an order that is enrolled in a database which is thrown away.
async fn sheet(config: Option<&Path>, prescription: &Path, file: &Path) -> anyhow::Result<()> {
    let config = load_config(config)?;
    let order = load_prescription(
        prescription,
        &config.formulary,
        &Wording::load()?.languages(),
    )?;
    let store = Store::throw_away().await?;
    let clock = Arc::new(SystemClock);
    let engine = Engine::new(
        store,
        Wording::load()?,
        config.policy,
        config.formulary,
        Vec::new(),
        clock,
    );
    let enrolled = engine
        .enrol(&order, None, "sheet", Confirmation::Counted, engine.now())
        .await?;
    let household = engine
        .household(enrolled.household)
        .await?
        .context("the household is gone")?;
    let paper = Paper::Sheet {
        course: enrolled.course,
    };
    let made = engine.make_paper(&household, paper, None, engine.now())?;
    let made = made.context("the course is gone")?;
    std::fs::write(file, made.bytes).with_context(|| file.display().to_string())
}

fn forecast(config: Option<&Path>, prescription: &Path) -> anyhow::Result<()> {
    let config = load_config(config)?;
    let lines = check::vials_ahead(&config, &Wording::load()?, prescription, &SystemClock)?;
    lines.iter().try_for_each(|line| say(line))
}

async fn examine(config: Option<&Path>, prescriptions: &[PathBuf]) -> anyhow::Result<()> {
    let config = load_config(config)?;
    let wording = Wording::load()?;
    let checked = check::check(&config, &wording, prescriptions, &SystemClock).await?;
    for line in &checked.lines {
        say(line)?;
    }
    match checked.wrong.as_slice() {
        [] => Ok(()),
        wrong => anyhow::bail!("{}", wrong.join("\n")),
    }
}

async fn play(
    config: Option<&Path>,
    prescriptions: &[PathBuf],
    json: bool,
    script: &Path,
) -> anyhow::Result<()> {
    let config = load_config(config)?;
    let wording = Wording::load()?;
    let orders = prescriptions
        .iter()
        .map(|path| load_prescription(path, &config.formulary, &wording.languages()))
        .collect::<Result<Vec<_>, _>>()?;
    let (lines, bad_line) = rehearse::parse(&read_script(script)?);
    let mut printer = Printer::default();
    let mut out = std::io::stdout().lock();
    let mut print = |happened: Happened| {
        let printed = match (&happened, json) {
            (Happened::Sent { delivered, zone }, true) => {
                rehearse::json_line(delivered, *zone) + "\n"
            }
            (Happened::Played { .. }, true) => String::new(),
            (_, false) => printer.print(&happened),
        };
        // A reader that went away is no reason to fail.
        let _ = out.write_all(printed.as_bytes());
    };
    rehearse::rehearse(config, orders, &lines, &mut print).await?;
    match bad_line {
        Some(error) => Err(error.into()),
        None => Ok(()),
    }
}

fn read_script(path: &Path) -> anyhow::Result<String> {
    if path == Path::new("-") {
        let mut text = String::new();
        std::io::stdin()
            .read_to_string(&mut text)
            .context("standard input")?;
        return Ok(text);
    }
    std::fs::read_to_string(path).with_context(|| path.display().to_string())
}
