//! The layer of colour rules: each that was fitted to the season, by its number. The last one holds.

use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, Result, Row, params};

use super::schema::{Kind, Table};
use super::values::{Columns, date_time, json, text};
use super::{Ledger, LedgerError, geopackage};
use crate::cover::tune::Tuned;
use crate::photo::PhotoName;

/// A rule as it was fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleRow {
    /// 1 for the season's first, one more each time it is fitted anew.
    pub number: u32,
    /// When, to the millisecond.
    pub fitted_at: Timestamp,
    /// The photos it was fitted to, by name.
    pub photos: Vec<PhotoName>,
    /// The audits whose answers it was fitted to, as marks: they tell nothing independent of it.
    pub audits: Vec<String>,
    /// What was fitted, and how far to trust it.
    pub tuned: Tuned,
}

pub(super) const TABLE: Table = Table {
    name: "rules",
    description: "which colours count as green, as fitted to the season; the last one holds",
    kind: Kind::Attributes,
    sql: "CREATE TABLE rules (
      number INTEGER PRIMARY KEY,
      fitted_at DATETIME NOT NULL,
      description TEXT NOT NULL,
      photos TEXT NOT NULL,
      rule TEXT NOT NULL
    )",
};

/// A table of its own, since ledgers without it are read on.
pub(super) const AUDITS: Table = Table {
    name: "rule_audits",
    description: "the audits whose judged points a rule was fitted to",
    kind: Kind::Attributes,
    sql: "CREATE TABLE rule_audits (
      id INTEGER PRIMARY KEY,
      rule INTEGER NOT NULL,
      audit TEXT NOT NULL,
      UNIQUE (rule, audit)
    )",
};

impl Ledger {
    /// Keeps a rule, which from then on holds for the season.
    ///
    /// # Errors
    /// [`LedgerError`]: it is then not kept.
    pub fn add_rule(&mut self, rule: &RuleRow) -> Result<(), LedgerError> {
        self.write(|database| {
            insert(database, rule)?;
            geopackage::layer_changed(database, &TABLE, std::iter::empty())?;
            geopackage::layer_changed(database, &AUDITS, std::iter::empty())
        })
    }

    /// The rule that holds; `None` before any was fitted.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn rule(&self) -> Result<Option<RuleRow>, LedgerError> {
        let load = || -> Result<Option<RuleRow>> {
            let rule = self
                .database
                .prepare_cached(
                    "SELECT number, fitted_at, photos, rule FROM rules
                     ORDER BY number DESC LIMIT 1",
                )?
                .query_row([], read)
                .optional()?;
            let Some(rule) = rule else {
                return Ok(None);
            };
            let audits = self
                .database
                .prepare_cached("SELECT audit FROM rule_audits WHERE rule = ?1 ORDER BY audit")?
                .query_map([rule.number], |row| row.get(0))?
                .collect::<Result<_>>()?;
            Ok(Some(RuleRow { audits, ..rule }))
        };
        load().map_err(self.failed())
    }
}

fn insert(database: &Connection, rule: &RuleRow) -> Result<()> {
    let names: Vec<&str> = rule.photos.iter().map(|name| name.0.as_str()).collect();
    database
        .prepare_cached("INSERT INTO rules VALUES (?1, ?2, ?3, ?4, ?5)")?
        .execute(params![
            rule.number,
            date_time(rule.fitted_at),
            text(&rule.tuned),
            json(&names)?,
            json(&rule.tuned)?,
        ])?;
    for audit in &rule.audits {
        database
            .prepare_cached("INSERT INTO rule_audits VALUES (NULL, ?1, ?2)")?
            .execute(params![rule.number, audit])?;
    }
    Ok(())
}

fn read(row: &Row<'_>) -> Result<RuleRow> {
    let mut columns = Columns::of(row);
    let number = columns.value()?;
    let fitted_at = columns.parsed()?;
    let names: Vec<String> = columns.json()?;
    Ok(RuleRow {
        number,
        fitted_at,
        photos: names.into_iter().map(PhotoName).collect(),
        audits: Vec::new(),
        tuned: columns.json()?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::tune;
    use crate::ledger::Access;

    #[test]
    fn the_last_rule_holds_and_comes_back_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.gpkg");
        let mut ledger = Ledger::open(&path, Access::Write).unwrap();
        assert_eq!(ledger.rule().unwrap(), None);
        let rule = |number| RuleRow {
            number,
            fitted_at: Timestamp::from_millisecond(1_813_000_000_120 + i64::from(number)).unwrap(),
            photos: vec![PhotoName("G07/ü 1.jpg".to_owned())],
            audits: (1..number).map(|n| format!("audit{n}")).collect(),
            tuned: tune::fit(&[]),
        };
        for number in [1, 2] {
            ledger.add_rule(&rule(number)).unwrap();
            assert_eq!(ledger.rule().unwrap(), Some(rule(number)));
        }
        assert!(ledger.add_rule(&rule(2)).is_err());
        drop(ledger);
        let ledger = Ledger::open(&path, Access::Read).unwrap();
        assert_eq!(ledger.rule().unwrap(), Some(rule(2)));
    }

    #[test]
    fn a_rule_whose_numbers_are_none_is_a_damaged_ledger() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.gpkg");
        let mut ledger = Ledger::open(&path, Access::Write).unwrap();
        let mut tuned = tune::fit(&[]);
        tuned.limits.window.hue = [120.0, 60.0];
        ledger
            .add_rule(&RuleRow {
                number: 1,
                fitted_at: Timestamp::UNIX_EPOCH,
                photos: Vec::new(),
                audits: Vec::new(),
                tuned,
            })
            .unwrap();
        let found = ledger.rule();
        assert!(
            matches!(found, Err(LedgerError::Damaged { .. })),
            "{found:?}"
        );
    }
}
