//! `export`: the medical record for the practice's own system.

use super::course_number::CourseNumber;
use super::{ClinicFile, say, write_new};
use crate::domain::change::Change;
use crate::domain::household::Household;
use crate::engine::Engine;
use crate::paper::record::{Indexed, Record, bundle, dispensed, index, table};
use anyhow::Context;
use std::io::Write;
use std::os::unix::fs::DirBuilderExt;
use std::path::{Path, PathBuf};

/// Households that are loaded at a time.
const BATCH: usize = 50;

/// The flags of `export`.
#[derive(clap::Args)]
pub struct Export {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Print the record of one course, or write it to a file.
    #[command(after_help = "Examples:\n  \
        vialbell export course 1.1 --as csv > juniper.csv\n  \
        vialbell export course 1.1 --as fhir --to juniper.fhir.json")]
    Course {
        #[command(flatten)]
        clinic: ClinicFile,
        /// In which form.
        #[arg(long = "as", value_name = "FORM")]
        form: Form,
        /// The file, which must not exist; standard output where left out.
        #[arg(long, value_name = "FILE")]
        to: Option<PathBuf>,
        /// Which course, such as 1.1: household 1, course 1.
        #[arg(value_name = "HOUSEHOLD.COURSE")]
        number: CourseNumber,
    },
    /// Write every course of the clinic into a folder: a table and a bundle each, and an index.
    #[command(after_help = "Example:\n  vialbell export clinic records-2026-11-25")]
    Clinic {
        #[command(flatten)]
        clinic: ClinicFile,
        /// The folder, which must not exist or be empty.
        folder: PathBuf,
    },
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Form {
    /// A table: one row a record of a dose (RFC 4180).
    Csv,
    /// A Bundle of HL7 FHIR R4, in JSON.
    Fhir,
}

impl Export {
    /// Writes the record.
    ///
    /// # Errors
    /// Where there is no such course, or the place is taken.
    pub async fn run(self) -> anyhow::Result<()> {
        match self.what {
            What::Course {
                clinic,
                form,
                to,
                number,
            } => {
                let engine = clinic.engine_to_look().await?;
                let household = number.household(&engine).await?;
                number.course(&household)?;
                let made = record(&engine, &household, |record| {
                    (record.course.no == number.course).then(|| written(record, form))
                })
                .await?;
                let text = made.into_iter().flatten().next().unwrap_or_default();
                match to {
                    Some(file) => write_new(&file, text.as_bytes()),
                    None => print(&text),
                }
            }
            What::Clinic { clinic, folder } => {
                let engine = clinic.engine_to_look().await?;
                let courses = export_all(&engine, &folder).await?;
                say(&format!("courses: {courses}, in {}", folder.display()))
            }
        }
    }
}

fn written(record: &Record<'_>, form: Form) -> String {
    match form {
        Form::Csv => table(record),
        Form::Fhir => format!("{:#}\n", bundle(record)),
    }
}

/// Makes something of each record of a household.
async fn record<T>(
    engine: &Engine,
    household: &Household,
    make: impl Fn(&Record<'_>) -> T,
) -> anyhow::Result<Vec<T>> {
    let journal = engine.journal(household.id).await?;
    let changes: Vec<&Change> = journal.iter().map(|caused| &caused.change).collect();
    let dispensed = dispensed(household, changes);
    let records = household.courses.values().map(|course| Record {
        clinic: &engine.policy().clinic,
        household,
        course,
        dispensed: &dispensed,
        now: engine.now(),
    });
    Ok(records.map(|record| make(&record)).collect())
}

async fn export_all(engine: &Engine, folder: &Path) -> anyhow::Result<usize> {
    make_folder(folder)?;
    let mut lines = Vec::new();
    let mut count = 0;
    for ids in engine.household_numbers().await?.chunks(BATCH) {
        for household in engine.our_households(ids).await? {
            let made = record(engine, &household, |record| {
                let number = format!("{}.{}", household.id, record.course.no);
                (number, table(record), format!("{:#}\n", bundle(record)))
            })
            .await?;
            for (number, table, bundle) in &made {
                write_new(&folder.join(format!("{number}.csv")), table.as_bytes())?;
                write_new(
                    &folder.join(format!("{number}.fhir.json")),
                    bundle.as_bytes(),
                )?;
            }
            count += made.len();
            lines.push(household);
        }
    }
    write_new(
        &folder.join("index.csv"),
        index_of(engine, &lines).as_bytes(),
    )?;
    Ok(count)
}

fn index_of(engine: &Engine, households: &[Household]) -> String {
    let files: Vec<(&Household, u32, String, String)> = households
        .iter()
        .flat_map(|household| {
            household.courses.keys().map(move |course| {
                let number = format!("{}.{course}", household.id);
                (
                    household,
                    *course,
                    format!("{number}.csv"),
                    format!("{number}.fhir.json"),
                )
            })
        })
        .collect();
    let indexed: Vec<Indexed<'_>> = files
        .iter()
        .map(|(household, course, table, bundle)| Indexed {
            record: Record {
                clinic: &engine.policy().clinic,
                household,
                course: &household.courses[course],
                dispensed: &[],
                now: engine.now(),
            },
            table,
            bundle,
        })
        .collect();
    index(&indexed)
}

/// A folder that nobody else on the machine reads: it holds names and health records.
fn make_folder(folder: &Path) -> anyhow::Result<()> {
    let place = || folder.display().to_string();
    match std::fs::read_dir(folder) {
        Ok(mut entries) => match entries.next() {
            None => Ok(()),
            Some(_) => anyhow::bail!("{}: is not empty; name a new folder", place()),
        },
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            let mut builder = std::fs::DirBuilder::new();
            builder.mode(0o700).create(folder).with_context(place)
        }
        Err(error) => Err(error).with_context(place),
    }
}

/// Prints it as it is. A reader that went away is no failure.
fn print(text: &str) -> anyhow::Result<()> {
    match std::io::stdout().write_all(text.as_bytes()) {
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        printed => printed.context("standard output"),
    }
}
