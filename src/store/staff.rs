//! People of the clinic: who was invited, who joined, who was taken off.

use super::invitations::hash;
use super::{StoreError, Work};
use crate::domain::Instant;
use crate::domain::household::Chat;
use crate::domain::member::Member;
use crate::domain::message::No;
use crate::domain::staff::Role;
use sqlx::any::AnyRow;
use sqlx::{AnyConnection, Row};

/// What a code of the clinic is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ClinicCode {
    /// It makes the chat in which it is written the clinic's.
    Chat,
    /// It makes whoever uses it this member of the staff.
    Member(No),
}

const COLUMNS: &str = "no, name, role, channel, person, address, on_call, joined_at";

impl Work {
    /// The staff of a clinic, in the order in which they were invited; not those who were taken off.
    pub async fn staff(&mut self, clinic: &str) -> Result<Vec<Member>, StoreError> {
        of(self.db().await?, clinic).await
    }

    /// Whether anybody has ever joined a clinic's staff: from then on only its staff acts.
    pub async fn has_staff(&mut self, clinic: &str) -> Result<bool, StoreError> {
        let row =
            sqlx::query("select count(*) from staff where clinic = $1 and joined_at is not null")
                .bind(clinic.to_owned())
                .fetch_one(self.db().await?)
                .await?;
        Ok(row.try_get::<i64, _>(0)? > 0)
    }

    /// The member of a clinic's staff behind a platform's number of a person.
    pub async fn member_of(
        &mut self,
        clinic: &str,
        channel: &str,
        person: &str,
    ) -> Result<Option<Member>, StoreError> {
        let sql = format!(
            "select {COLUMNS} from staff \
             where clinic = $1 and channel = $2 and person = $3 and removed_at is null"
        );
        let row = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(clinic.to_owned())
            .bind(channel.to_owned())
            .bind(person.to_owned())
            .fetch_optional(self.db().await?)
            .await?;
        row.as_ref().map(read_member).transpose()
    }

    /// Adds somebody to a clinic's staff, who has to join yet; gives their number.
    pub async fn add_member(
        &mut self,
        clinic: &str,
        name: &str,
        role: Role,
        now: Instant,
    ) -> Result<No, StoreError> {
        let row = sqlx::query(
            "insert into staff (clinic, no, name, role, on_call, invited_at) \
             select $1, coalesce(max(no), 0) + 1, $2, $3, 0, $4 from staff where clinic = $1 \
             returning no",
        )
        .bind(clinic.to_owned())
        .bind(name.to_owned())
        .bind(role.name())
        .bind(now.timestamp_millis())
        .fetch_one(self.db().await?)
        .await?;
        let no: i64 = row.try_get(0)?;
        Ok(No::try_from(no).unwrap_or(0))
    }

    /// Takes somebody off a clinic's staff. The row stays: records name who acted.
    pub async fn remove_member(
        &mut self,
        clinic: &str,
        no: No,
        now: Instant,
    ) -> Result<(), StoreError> {
        sqlx::query("update staff set removed_at = $1, on_call = 0 where clinic = $2 and no = $3")
            .bind(now.timestamp_millis())
            .bind(clinic.to_owned())
            .bind(i64::from(no))
            .execute(self.db().await?)
            .await?;
        sqlx::query(
            "update clinic_code set expires_at = $1 \
             where clinic = $2 and staff = $3 and used_at is null and expires_at > $1",
        )
        .bind(now.timestamp_millis())
        .bind(clinic.to_owned())
        .bind(i64::from(no))
        .execute(self.db().await?)
        .await?;
        Ok(())
    }

    /// Somebody used their invitation: who they are on the platform.
    pub async fn join_member(
        &mut self,
        clinic: &str,
        no: No,
        channel: &str,
        person: &str,
        now: Instant,
    ) -> Result<(), StoreError> {
        sqlx::query(
            "update staff set channel = $1, person = $2, joined_at = $3 \
             where clinic = $4 and no = $5 and removed_at is null",
        )
        .bind(channel.to_owned())
        .bind(person.to_owned())
        .bind(now.timestamp_millis())
        .bind(clinic.to_owned())
        .bind(i64::from(no))
        .execute(self.db().await?)
        .await?;
        Ok(())
    }

    /// Where a member of the staff is reached alone; none: nowhere any more.
    pub async fn set_member_chat(
        &mut self,
        clinic: &str,
        no: No,
        address: Option<&str>,
    ) -> Result<(), StoreError> {
        sqlx::query("update staff set address = $1 where clinic = $2 and no = $3")
            .bind(address.map(str::to_owned))
            .bind(clinic.to_owned())
            .bind(i64::from(no))
            .execute(self.db().await?)
            .await?;
        Ok(())
    }

    /// Who is on call from now on; none: nobody by name.
    pub async fn set_on_call(&mut self, clinic: &str, no: Option<No>) -> Result<(), StoreError> {
        sqlx::query("update staff set on_call = 0 where clinic = $1 and on_call = 1")
            .bind(clinic.to_owned())
            .execute(self.db().await?)
            .await?;
        if let Some(no) = no {
            sqlx::query(
                "update staff set on_call = 1 where clinic = $1 and no = $2 and removed_at is null",
            )
            .bind(clinic.to_owned())
            .bind(i64::from(no))
            .execute(self.db().await?)
            .await?;
        }
        Ok(())
    }

    /// Keeps a code of the clinic; the code itself is not kept.
    pub async fn keep_clinic_code(
        &mut self,
        code: &str,
        clinic: &str,
        what: &ClinicCode,
        now: Instant,
        expires_at: Instant,
    ) -> Result<(), StoreError> {
        let member = match what {
            ClinicCode::Chat => None,
            ClinicCode::Member(no) => Some(i64::from(*no)),
        };
        sqlx::query(
            "insert into clinic_code (code_hash, clinic, staff, created_at, expires_at) \
             values ($1, $2, $3, $4, $5)",
        )
        .bind(hash(code))
        .bind(clinic.to_owned())
        .bind(member)
        .bind(now.timestamp_millis())
        .bind(expires_at.timestamp_millis())
        .execute(self.db().await?)
        .await?;
        Ok(())
    }

    /// Uses a code of a clinic up. None for one that is unknown, used, or too old.
    pub async fn redeem_clinic_code(
        &mut self,
        code: &str,
        clinic: &str,
        now: Instant,
    ) -> Result<Option<ClinicCode>, StoreError> {
        let row = sqlx::query(
            "update clinic_code set used_at = $1 where code_hash = $2 and clinic = $3 \
             and used_at is null and expires_at > $1 returning staff",
        )
        .bind(now.timestamp_millis())
        .bind(hash(code))
        .bind(clinic.to_owned())
        .fetch_optional(self.db().await?)
        .await?;
        let Some(row) = row else { return Ok(None) };
        let member: Option<i64> = row.try_get(0)?;
        Ok(Some(match member.and_then(|no| No::try_from(no).ok()) {
            Some(no) => ClinicCode::Member(no),
            None => ClinicCode::Chat,
        }))
    }
}

/// The staff of a clinic, over a connection of any kind.
pub(super) async fn of(
    connection: &mut AnyConnection,
    clinic: &str,
) -> Result<Vec<Member>, StoreError> {
    let sql =
        format!("select {COLUMNS} from staff where clinic = $1 and removed_at is null order by no");
    let rows = sqlx::query(sqlx::AssertSqlSafe(sql))
        .bind(clinic.to_owned())
        .fetch_all(connection)
        .await?;
    rows.iter().map(read_member).collect()
}

fn read_member(row: &AnyRow) -> Result<Member, StoreError> {
    let instant = |millis: Option<i64>| millis.and_then(Instant::from_timestamp_millis);
    let no: i64 = row.try_get(0)?;
    let role: String = row.try_get(2)?;
    let channel: Option<String> = row.try_get(3)?;
    let address: Option<String> = row.try_get(5)?;
    Ok(Member {
        no: No::try_from(no).unwrap_or(0),
        name: row.try_get(1)?,
        // What cannot be read may do the least.
        role: role.parse().unwrap_or(Role::Technician),
        person: row.try_get(4)?,
        chat: channel
            .zip(address)
            .map(|(channel, address)| Chat { channel, address }),
        on_call: row.try_get::<i64, _>(6)? != 0,
        joined_at: instant(row.try_get(7)?),
    })
}
