//! Where copies are put by themselves, at what hour, and how many are kept.

use std::path::{Path, PathBuf};

use serde::Deserialize;
use sqlx::SqliteExecutor;

use super::rotation::Kept;
use crate::{db::Tx, web::Check};

#[derive(Debug, Clone)]
pub(super) struct Plan {
    /// Empty: none are made.
    pub folder: String,
    /// Of the practice's day.
    pub hour: i64,
    pub keep_days: i64,
    pub keep_weeks: i64,
    pub keep_months: i64,
    pub version: i64,
}

impl Plan {
    pub(super) fn kept(&self) -> Kept {
        let many = |n: i64| usize::try_from(n).unwrap_or_default();
        Kept { days: many(self.keep_days), weeks: many(self.keep_weeks), months: many(self.keep_months) }
    }
}

pub(super) async fn get(db: impl SqliteExecutor<'_>) -> sqlx::Result<Plan> {
    sqlx::query_as!(
        Plan,
        r#"select folder, hour, keep_days, keep_weeks, keep_months, version from backup_plan where id = 1"#
    )
    .fetch_one(db)
    .await
}

/// How many rows it touched: none when somebody else changed it meanwhile.
pub(super) async fn update(tx: &mut Tx, plan: &Plan) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update backup_plan set folder = ?, hour = ?, keep_days = ?, keep_weeks = ?, keep_months = ?, version = version + 1
         where id = 1 and version = ?",
        plan.folder,
        plan.hour,
        plan.keep_days,
        plan.keep_weeks,
        plan.keep_months,
        plan.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// As typed.
#[derive(Debug, Clone, Deserialize, Default)]
#[serde(default)]
pub(super) struct PlanForm {
    pub folder: String,
    pub hour: String,
    pub keep_days: String,
    pub keep_weeks: String,
    pub keep_months: String,
    pub version: String,
}

impl PlanForm {
    pub(super) fn of(plan: &Plan) -> Self {
        PlanForm {
            folder: plan.folder.clone(),
            hour: plan.hour.to_string(),
            keep_days: plan.keep_days.to_string(),
            keep_weeks: plan.keep_weeks.to_string(),
            keep_months: plan.keep_months.to_string(),
            version: plan.version.to_string(),
        }
    }

    pub(super) fn check(&self, data: &Path, check: &mut Check) -> Plan {
        let mut number = |name: &'static str, typed: &str, least: i64, most: i64| {
            let number = typed.trim().parse().ok().filter(|n| (least..=most).contains(n));
            if number.is_none() {
                check.errors.add(name, format!("A whole number from {least} to {most}."));
            }
            number.unwrap_or_default()
        };
        let hour = number("hour", &self.hour, 0, 23);
        let keep_days = number("keep_days", &self.keep_days, 1, 60);
        let keep_weeks = number("keep_weeks", &self.keep_weeks, 0, 60);
        let keep_months = number("keep_months", &self.keep_months, 0, 120);
        let folder = self.folder.trim().to_owned();
        if let Some(wrong) = wrong_with(&folder, data) {
            check.errors.add("folder", wrong);
        }
        Plan {
            folder,
            hour,
            keep_days,
            keep_weeks,
            keep_months,
            version: self.version.parse().unwrap_or_default(),
        }
    }
}

/// Why no copies can be put there.
fn wrong_with(folder: &str, data: &Path) -> Option<&'static str> {
    if folder.is_empty() {
        return None;
    }
    let path = PathBuf::from(folder);
    if !path.is_absolute() || folder.len() > 500 {
        return Some("Give the whole path of a folder on the practice's computer, from its root.");
    }
    if !path.is_dir() {
        return Some("There is no such folder on the practice's computer. Make it there first.");
    }
    let inside = path.canonicalize().ok()?.starts_with(data.canonicalize().ok()?);
    inside.then_some(
        "This is inside the practice's own folder: a copy there is lost with it. Choose another disk.",
    )
}
