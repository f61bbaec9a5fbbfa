//! The tables of a household, and each of its rows, written and read. Tests always
//! compare what is loaded with what was applied.

use super::StoreError;
use super::buttons::{WITH_BUTTONS, with_buttons};
use super::cells::{self, Cells};
use super::dialect::Dialect;
use super::households::Loaded;
use super::table::{self, Cell, Table, Type::Int, Type::Text, instant};
use crate::domain::Instant;
use crate::domain::alert::Ended;
use crate::domain::amendment::{Amendment, Settled};
use crate::domain::household::{
    Administration, Alert, Carer, Chat, Course, Dose, Household, OpenQuestion, Patient, Planned,
    Status,
};
use crate::domain::message::{Kind, No};
use crate::domain::quantity::Volume;
use crate::domain::supply::{Counted, Supply};
use crate::domain::timing::Plan;
use crate::domain::vial::{Discarded, Draw, LevelSeen, Vial};
use crate::domain::zone::Zone;
use sqlx::any::AnyRow;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Households as the database gave them. To make sense of them takes longer than
/// to find them, and nobody need wait for the database meanwhile.
pub struct Found(pub(super) AnyRow);

const HOUSEHOLD: Table = Table {
    name: "household",
    key: 1,
    columns: &[
        ("id", Int),
        ("clinic", Text),
        ("owner", Text),
        ("language", Text),
        ("zone", Text),
        ("version", Int),
    ],
};
pub(super) const CARER: Table = Table {
    name: "carer",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("name", Text),
        ("channel", Text),
        ("address", Text),
        ("reachable", Int),
        ("said", Text),
        ("phone", Text),
        // The household's, again: a chat speaks for one household of a clinic.
        ("clinic", Text),
    ],
};
pub(super) const PATIENT: Table = Table {
    name: "patient",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("name", Text),
        ("species", Text),
        ("weight", Text),
    ],
};
pub(super) const COURSE: Table = Table {
    name: "course",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("patient", Int),
        ("product", Text),
        ("ordered", Text),
        ("veterinarian", Text),
        ("syringe", Int),
        ("doses", Int),
        ("entered_by", Text),
        ("confirmed_at", Int),
        ("confirmed_by", Text),
        ("supply_told", Int),
        ("started_at", Int),
        ("ended_at", Int),
        ("ended_by", Text),
        ("paused_at", Int),
        ("paused_by", Text),
    ],
};
pub(super) const PLAN: Table = Table {
    name: "plan",
    key: 3,
    columns: &[
        ("household", Int),
        ("course", Int),
        ("from_dose", Int),
        ("first", Text),
        ("times", Text),
        ("volume", Int),
    ],
};
pub(super) const SUPPLY: Table = Table {
    name: "supply",
    key: 3,
    columns: &[
        ("household", Int),
        ("course", Int),
        ("kind", Text),
        ("pieces", Int),
        ("counted_at", Int),
    ],
};
pub(super) const DOSE: Table = Table {
    name: "dose",
    key: 3,
    columns: &[
        ("household", Int),
        ("course", Int),
        ("no", Int),
        ("local", Text),
        ("zone", Text),
        ("planned_at", Int),
        ("asked", Int),
        ("asked_at", Int),
        ("closed_at", Int),
    ],
};
pub(super) const VIAL: Table = Table {
    name: "vial",
    key: 3,
    columns: &[
        ("household", Int),
        ("course", Int),
        ("no", Int),
        ("mixed_at", Int),
        ("recorded_at", Int),
        ("mixed_by", Text),
        ("available", Int),
        ("discard_by", Int),
        ("discarded_at", Int),
        ("discarded_by", Text),
        ("level", Int),
        ("level_at", Int),
        ("out_since", Int),
        ("warned_minutes", Int),
    ],
};
pub(super) const ADMINISTRATION: Table = Table {
    name: "administration",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("course", Int),
        ("dose", Int),
        ("status", Text),
        ("given_at", Int),
        ("recorded_at", Int),
        ("given_by", Text),
        ("carer", Int),
        ("volume", Int),
        ("superseded_at", Int),
    ],
};
pub(super) const WITHDRAWAL: Table = Table {
    name: "withdrawal",
    key: 3,
    columns: &[
        ("household", Int),
        ("administration", Int),
        ("nth", Int),
        ("vial", Int),
        ("volume", Int),
        ("lost", Int),
    ],
};
pub(super) const QUESTION: Table = Table {
    name: "question",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("carer", Int),
        ("options", Text),
        ("expires_at", Int),
        ("settled", Int),
    ],
};
pub(super) const ALERT: Table = Table {
    name: "alert",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("kind", Text),
        ("course", Int),
        ("dose", Int),
        ("carer", Int),
        ("words", Text),
        ("raised_at", Int),
        ("seen_at", Int),
        ("seen_by", Text),
        ("patient", Text),
        ("facts", Text),
        ("told_at", Int),
        ("rungs", Int),
        ("replies", Text),
        ("ended", Text),
        ("ended_at", Int),
        ("ended_by", Text),
    ],
};

pub(super) const AMENDMENT: Table = Table {
    name: "amendment",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("course", Int),
        ("what", Text),
        ("entered_by", Text),
        ("entered_at", Int),
        ("affirmed", Int),
        ("settled_at", Int),
        ("settled_by", Text),
        ("taken", Int),
    ],
};

impl Found {
    /// The households, in the order of their numbers.
    ///
    /// # Errors
    /// A row holds what this program never wrote.
    pub fn read(self) -> Result<Vec<Loaded>, StoreError> {
        let tables: Vec<&Table> = tables().chain([&WITH_BUTTONS]).collect();
        let mut rows = cells::of_households(&self.0, &tables)?.into_iter();
        let mut loaded = BTreeMap::new();
        for mut row in rows.next().unwrap_or_default() {
            let id = row.int()?;
            let (clinic, owner, language) = (row.text()?, row.text()?, row.text()?);
            let zone = row.text()?;
            let zone = Zone::named(&zone).map_err(|_| StoreError::Unreadable {
                household: id,
                what: format!("zone {zone}"),
            })?;
            let household = Household::new(id, &clinic, &owner, &language, zone);
            let version = row.int()?;
            let shown = Vec::new();
            loaded.insert(
                id,
                Loaded {
                    household,
                    version,
                    shown,
                },
            );
        }
        let shown = rows.next_back().unwrap_or_default();
        for ((_, read), rows) in READERS.into_iter().zip(rows) {
            for mut row in rows {
                if let Some(loaded) = loaded.get_mut(&row.household()) {
                    row.int()?;
                    read(&mut loaded.household, &mut row)?;
                }
            }
        }
        for row in shown {
            if let Some(loaded) = loaded.get_mut(&row.household()) {
                loaded.shown.extend(with_buttons(row)?);
            }
        }
        Ok(loaded.into_values().collect())
    }
}

type Reader = fn(&mut Household, &mut Cells) -> Result<(), StoreError>;

/// In an order in which each row finds what it belongs to.
const READERS: [(&Table, Reader); 12] = [
    (&CARER, read_carer),
    (&PATIENT, read_patient),
    (&COURSE, read_course),
    (&PLAN, read_plan),
    (&SUPPLY, read_supply),
    (&DOSE, read_dose),
    (&VIAL, read_vial),
    (&ADMINISTRATION, read_administration),
    (&WITHDRAWAL, read_withdrawal),
    (&QUESTION, read_question),
    (&ALERT, read_alert),
    (&AMENDMENT, read_amendment),
];

/// The tables of a household, its own row first.
fn tables() -> impl Iterator<Item = &'static Table> {
    std::iter::once(&HOUSEHOLD).chain(READERS.into_iter().map(|(table, _)| table))
}

/// The longest statements of all, asked at every decision: written once.
pub(super) fn loading(dialect: Dialect) -> &'static str {
    static SQLITE: LazyLock<String> = LazyLock::new(|| table::together(rows(Dialect::Sqlite)));
    static POSTGRES: LazyLock<String> = LazyLock::new(|| table::together(rows(Dialect::Postgres)));
    match dialect {
        Dialect::Sqlite => &SQLITE,
        Dialect::Postgres => &POSTGRES,
    }
}

/// The same, with the messages whose buttons apply.
pub(super) fn loading_to_decide(dialect: Dialect) -> &'static str {
    static SQLITE: LazyLock<String> = LazyLock::new(|| with_shown(Dialect::Sqlite));
    static POSTGRES: LazyLock<String> = LazyLock::new(|| with_shown(Dialect::Postgres));
    match dialect {
        Dialect::Sqlite => &SQLITE,
        Dialect::Postgres => &POSTGRES,
    }
}

fn rows(dialect: Dialect) -> impl Iterator<Item = String> {
    tables().map(move |table| table.rows_of_households(dialect, ""))
}

fn with_shown(dialect: Dialect) -> String {
    let shown = WITH_BUTTONS.rows_of_households(dialect, " and t.buttons <> 0");
    table::together(rows(dialect).chain([shown]))
}

fn millis(at: Instant) -> i64 {
    at.timestamp_millis()
}

fn read_instant(row: &mut Cells) -> Result<Instant, StoreError> {
    instant(row.int()?).ok_or_else(|| row.unreadable())
}

fn read_maybe_instant(row: &mut Cells) -> Result<Option<Instant>, StoreError> {
    let value = row.maybe_int()?;
    value
        .map(|v| instant(v).ok_or_else(|| row.unreadable()))
        .transpose()
}

/// When something was done and by whom, both or neither.
fn read_who(row: &mut Cells) -> Result<Option<(Instant, String)>, StoreError> {
    Ok(match (read_maybe_instant(row)?, row.maybe_text()?) {
        (Some(at), Some(by)) => Some((at, by)),
        _ => None,
    })
}

fn read_volume(row: &mut Cells) -> Result<Volume, StoreError> {
    Ok(Volume::from_millionths(row.int()?))
}

pub(super) fn carer_row(household: &Household, carer: &Carer) -> Vec<Cell> {
    vec![
        household.id.into(),
        carer.no.into(),
        carer.name.as_str().into(),
        carer.chat.as_ref().map(|chat| chat.channel.as_str()).into(),
        carer.chat.as_ref().map(|chat| chat.address.as_str()).into(),
        carer.reachable.into(),
        carer.said.as_deref().into(),
        carer.phone.as_deref().into(),
        household.clinic.as_str().into(),
    ]
}

fn read_carer(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let (no, name) = (row.no()?, row.text()?);
    let chat = match (row.maybe_text()?, row.maybe_text()?) {
        (Some(channel), Some(address)) => Some(Chat { channel, address }),
        _ => None,
    };
    let carer = Carer {
        no,
        name,
        chat,
        reachable: row.flag()?,
        said: row.maybe_text()?,
        phone: row.maybe_text()?,
    };
    household.carers.insert(no, carer);
    Ok(())
}

pub(super) fn patient_row(id: i64, patient: &Patient) -> Vec<Cell> {
    vec![
        id.into(),
        patient.no.into(),
        patient.name.as_str().into(),
        patient.species.as_str().into(),
        patient.weight.as_str().into(),
    ]
}

fn read_patient(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let no = row.no()?;
    let patient = Patient {
        no,
        name: row.text()?,
        species: row.text()?,
        weight: row.text()?,
    };
    household.patients.insert(no, patient);
    Ok(())
}

pub(super) fn course_row(id: i64, course: &Course) -> Result<Vec<Cell>, StoreError> {
    Ok(vec![
        id.into(),
        course.no.into(),
        course.patient.into(),
        serde_json::to_string(&course.product)?.into(),
        course.ordered.as_str().into(),
        course.veterinarian.as_str().into(),
        course.syringe.millionths().into(),
        course.doses.into(),
        course.entered_by.as_str().into(),
        course.confirmed.as_ref().map(|(at, _)| millis(*at)).into(),
        course.confirmed.as_ref().map(|(_, by)| by.as_str()).into(),
        course.supply_told.map(millis).into(),
        millis(course.started_at).into(),
        course.ended_at.map(millis).into(),
        course.ended_by.as_deref().into(),
        course.paused.as_ref().map(|(at, _)| millis(*at)).into(),
        course.paused.as_ref().map(|(_, by)| by.as_str()).into(),
    ])
}

fn read_course(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let no = row.no()?;
    let course = Course {
        no,
        patient: row.no()?,
        product: row.json()?,
        ordered: row.text()?,
        veterinarian: row.text()?,
        syringe: read_volume(row)?,
        doses: row.no()?,
        plans: Vec::new(),
        counted: BTreeMap::new(),
        entered_by: row.text()?,
        confirmed: read_who(row)?,
        supply_told: read_maybe_instant(row)?,
        started_at: read_instant(row)?,
        ended_at: read_maybe_instant(row)?,
        ended_by: row.maybe_text()?,
        paused: read_who(row)?,
        touched: BTreeMap::new(),
        vials: BTreeMap::new(),
    };
    household.courses.insert(no, course.into());
    Ok(())
}

fn course_of<'a>(
    household: &'a mut Household,
    row: &mut Cells,
) -> Result<&'a mut Course, StoreError> {
    let no = row.no()?;
    household.course_mut(no).ok_or_else(|| row.unreadable())
}

pub(super) fn plan_row(id: i64, course: No, plan: &Plan) -> Vec<Cell> {
    let times: Vec<String> = plan
        .times
        .iter()
        .map(|t| t.format("%H:%M:%S").to_string())
        .collect();
    vec![
        id.into(),
        course.into(),
        plan.from.into(),
        plan.first.format("%Y-%m-%dT%H:%M:%S").to_string().into(),
        times.join(",").into(),
        plan.volume.millionths().into(),
    ]
}

fn read_plan(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let course = course_of(household, row)?;
    let (from, first) = (row.no()?, row.parsed()?);
    let times: Result<Vec<_>, _> = row.text()?.split(',').map(str::parse).collect();
    let times = times.map_err(|_| row.unreadable())?;
    course.plans.push(Plan {
        from,
        first,
        times,
        volume: read_volume(row)?,
    });
    Ok(())
}

pub(super) fn supply_row(id: i64, course: No, supply: Supply, counted: &Counted) -> Vec<Cell> {
    vec![
        id.into(),
        course.into(),
        supply.name().into(),
        counted.pieces.into(),
        millis(counted.at).into(),
    ]
}

fn read_supply(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let course = course_of(household, row)?;
    let name = row.text()?;
    let supply = Supply::ALL.into_iter().find(|supply| supply.name() == name);
    let supply = supply.ok_or_else(|| row.unreadable())?;
    let counted = Counted {
        pieces: row.no()?,
        at: read_instant(row)?,
    };
    course.counted.insert(supply, counted);
    Ok(())
}

pub(super) fn dose_row(id: i64, course: No, no: No, dose: &Dose) -> Vec<Cell> {
    vec![
        id.into(),
        course.into(),
        no.into(),
        dose.planned
            .local
            .format("%Y-%m-%dT%H:%M:%S")
            .to_string()
            .into(),
        dose.planned.zone.name().into(),
        millis(dose.planned.at).into(),
        dose.asked.into(),
        dose.asked_at.map(millis).into(),
        dose.closed_at.map(millis).into(),
    ]
}

fn read_dose(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let course = course_of(household, row)?;
    let no = row.no()?;
    let (local, zone) = (row.parsed()?, row.parsed()?);
    let planned = Planned {
        local,
        zone,
        at: read_instant(row)?,
    };
    let dose = Dose {
        planned,
        asked: row.no()?,
        asked_at: read_maybe_instant(row)?,
        closed_at: read_maybe_instant(row)?,
    };
    course.touched.insert(no, dose);
    Ok(())
}

pub(super) fn vial_row(id: i64, course: No, vial: &Vial) -> Vec<Cell> {
    vec![
        id.into(),
        course.into(),
        vial.no.into(),
        millis(vial.mixed_at).into(),
        millis(vial.recorded_at).into(),
        vial.by.as_str().into(),
        vial.available.millionths().into(),
        millis(vial.discard_by).into(),
        vial.discarded.as_ref().map(|d| millis(d.at)).into(),
        vial.discarded.as_ref().map(|d| d.by.as_str()).into(),
        vial.level.map(|level| level.volume.millionths()).into(),
        vial.level.map(|level| millis(level.at)).into(),
        vial.out_since.map(millis).into(),
        vial.warned_minutes.into(),
    ]
}

fn read_vial(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let course = course_of(household, row)?;
    let no = row.no()?;
    let (mixed_at, recorded_at) = (read_instant(row)?, read_instant(row)?);
    let (by, available) = (row.text()?, read_volume(row)?);
    let discard_by = read_instant(row)?;
    let discarded = match (read_maybe_instant(row)?, row.maybe_text()?) {
        (Some(at), Some(by)) => Some(Discarded { at, by }),
        _ => None,
    };
    let level = match (row.maybe_int()?, read_maybe_instant(row)?) {
        (Some(volume), Some(at)) => Some(LevelSeen {
            volume: Volume::from_millionths(volume),
            at,
        }),
        _ => None,
    };
    let vial = Vial {
        no,
        mixed_at,
        recorded_at,
        by,
        available,
        discard_by,
        discarded,
        level,
        out_since: read_maybe_instant(row)?,
        warned_minutes: row.maybe_no()?,
    };
    course.vials.insert(no, vial);
    Ok(())
}

pub(super) fn administration_row(id: i64, record: &Administration) -> Vec<Cell> {
    let status = match record.status {
        Status::Completed => "completed",
        Status::NotDone => "not-done",
    };
    vec![
        id.into(),
        record.no.into(),
        record.course.into(),
        record.dose.into(),
        status.into(),
        millis(record.at).into(),
        millis(record.recorded_at).into(),
        record.by.as_str().into(),
        record.carer.into(),
        record.volume.millionths().into(),
        record.superseded_at.map(millis).into(),
    ]
}

fn read_administration(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let (no, course, dose) = (row.no()?, row.no()?, row.no()?);
    let status = match row.text()?.as_str() {
        "completed" => Status::Completed,
        "not-done" => Status::NotDone,
        _ => return Err(row.unreadable()),
    };
    let record = Administration {
        no,
        course,
        dose,
        status,
        at: read_instant(row)?,
        recorded_at: read_instant(row)?,
        by: row.text()?,
        carer: row.no()?,
        volume: read_volume(row)?,
        draws: Vec::new(),
        superseded_at: read_maybe_instant(row)?,
    };
    household.administrations.insert(no, record);
    Ok(())
}

pub(super) fn withdrawal_row(id: i64, administration: No, nth: usize, draw: &Draw) -> Vec<Cell> {
    vec![
        id.into(),
        administration.into(),
        i64::try_from(nth).unwrap_or(i64::MAX).into(),
        draw.vial.into(),
        draw.volume.millionths().into(),
        draw.lost.millionths().into(),
    ]
}

fn read_withdrawal(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let administration = row.no()?;
    row.int()?;
    let draw = Draw {
        vial: row.maybe_no()?,
        volume: read_volume(row)?,
        lost: read_volume(row)?,
    };
    match household.administrations.get_mut(&administration) {
        Some(record) => record.draws.push(draw),
        None => return Err(row.unreadable()),
    }
    Ok(())
}

pub(super) fn question_row(id: i64, question: &OpenQuestion) -> Result<Vec<Cell>, StoreError> {
    Ok(vec![
        id.into(),
        question.no.into(),
        question.carer.into(),
        serde_json::to_string(&question.options)?.into(),
        millis(question.expires_at).into(),
        question.settled.into(),
    ])
}

fn read_question(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let no = row.no()?;
    let question = OpenQuestion {
        no,
        carer: row.no()?,
        options: row.json()?,
        expires_at: read_instant(row)?,
        settled: row.flag()?,
    };
    household.questions.insert(no, question);
    Ok(())
}

pub(super) fn alert_row(id: i64, alert: &Alert) -> Result<Vec<Cell>, StoreError> {
    let ended = alert.ended.as_ref();
    Ok(vec![
        id.into(),
        alert.no.into(),
        alert.kind.name().into(),
        alert.dose.map(|(course, _)| course).into(),
        alert.dose.map(|(_, dose)| dose).into(),
        alert.carer.into(),
        alert.text.as_deref().into(),
        millis(alert.raised_at).into(),
        alert.seen.as_ref().map(|(at, _)| millis(*at)).into(),
        alert.seen.as_ref().map(|(_, by)| by.as_str()).into(),
        alert.patient.as_deref().into(),
        serde_json::to_string(&alert.facts)?.into(),
        millis(alert.told_at).into(),
        alert.rungs.into(),
        serde_json::to_string(&alert.replies)?.into(),
        ended.map(|ended| ended.how.name()).into(),
        ended.map(|ended| millis(ended.at)).into(),
        ended.map(|ended| ended.by.as_str()).into(),
    ])
}

fn read_alert(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let no = row.no()?;
    let name = row.text()?;
    let kind = Kind::ALL.iter().copied().find(|kind| kind.name() == name);
    let kind = kind.ok_or_else(|| row.unreadable())?;
    let dose = match (row.maybe_no()?, row.maybe_no()?) {
        (Some(course), Some(dose)) => Some((course, dose)),
        _ => None,
    };
    let (carer, text, raised_at) = (row.maybe_no()?, row.maybe_text()?, read_instant(row)?);
    let seen = match (read_maybe_instant(row)?, row.maybe_text()?) {
        (Some(at), Some(by)) => Some((at, by)),
        _ => None,
    };
    let patient = row.maybe_text()?;
    let facts = row.maybe_json()?.unwrap_or_default();
    let told_at = read_maybe_instant(row)?.unwrap_or(raised_at);
    let (rungs, replies) = (row.no()?, row.json()?);
    let ended = match (
        row.maybe_text()?,
        read_maybe_instant(row)?,
        row.maybe_text()?,
    ) {
        (Some(how), Some(at), Some(by)) => {
            let how = how.parse().map_err(|()| row.unreadable())?;
            Some(Ended { how, at, by })
        }
        _ => None,
    };
    let alert = Alert {
        no,
        kind,
        dose,
        carer,
        text,
        patient,
        facts,
        raised_at,
        told_at,
        rungs,
        seen,
        replies,
        ended,
    };
    household.alerts.insert(no, alert);
    Ok(())
}

pub(super) fn amendment_row(id: i64, amendment: &Amendment) -> Result<Vec<Cell>, StoreError> {
    let settled = amendment.settled.as_ref();
    Ok(vec![
        id.into(),
        amendment.no.into(),
        amendment.course.into(),
        serde_json::to_string(&amendment.what)?.into(),
        amendment.entered_by.as_str().into(),
        millis(amendment.entered_at).into(),
        amendment.affirmed.into(),
        settled.map(|settled| millis(settled.at)).into(),
        settled.map(|settled| settled.by.as_str()).into(),
        settled.is_some_and(|settled| settled.taken).into(),
    ])
}

fn read_amendment(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let no = row.no()?;
    let amendment = Amendment {
        no,
        course: row.no()?,
        what: row.json()?,
        entered_by: row.text()?,
        entered_at: read_instant(row)?,
        affirmed: row.flag()?,
        settled: {
            let who = read_who(row)?;
            let taken = row.flag()?;
            who.map(|(at, by)| Settled { at, by, taken })
        },
    };
    household.amendments.insert(no, amendment);
    Ok(())
}
