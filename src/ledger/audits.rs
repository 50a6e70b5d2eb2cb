//! The layers of audits: which points were drawn, what people said of them, and what that told.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, Result, Row, params};

use super::schema::{Kind, Table};
use super::values::{Columns, date_time, text};
use super::{Ledger, LedgerError, geopackage};
use crate::course::GreenId;
use crate::cover::SettingsKey;
use crate::cover::audit::{Answer, Bias, Interval, Share};
use crate::photo::PhotoName;

/// An audit: points that were drawn under some settings and, once judged, what they tell.
#[derive(Debug, Clone, PartialEq)]
pub struct AuditRow {
    /// Its short name.
    pub audit: String,
    /// When points were drawn, to the millisecond.
    pub made_at: Timestamp,
    /// How the photos had been measured.
    pub settings: SettingsKey,
    /// Points drawn.
    pub n_points: u64,
    /// What the answers told; `None` before there are any.
    pub findings: Option<AuditFindings>,
}

/// What the answers to an audit told of the program's eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AuditFindings {
    /// When answers were read last, to the millisecond.
    pub answered_at: Timestamp,
    /// Points called green or not.
    pub n_judged: u64,
    /// Points that nobody could tell.
    pub n_unsure: u64,
    /// Points on which program and person agree.
    pub n_agreed: u64,
    /// Of green points, those called green; of so many independent points.
    pub sensitivity: Share,
    /// Of other points, those not called green; of so many independent points.
    pub specificity: Share,
    /// By how much cover is read too high, as a fraction.
    pub bias: Bias,
}

/// One point of an audit.
#[derive(Debug, Clone, PartialEq)]
pub struct AuditPointRow {
    /// From 1.
    pub point: u32,
    /// Its photo.
    pub photo: PhotoName,
    /// The green.
    pub green: GreenId,
    /// Local date.
    pub date: Date,
    /// Column of the upright photo.
    pub x: u32,
    /// Row of the upright photo.
    pub y: u32,
    /// Whether the program calls it green.
    pub is_green: bool,
    /// What the person said.
    pub answer: Option<Answer>,
}

pub(super) const TABLE: Table = Table {
    name: "audits",
    description: "audits: random points judged by a person, and how far the program agreed",
    kind: Kind::Attributes,
    sql: "CREATE TABLE audits (
      id INTEGER PRIMARY KEY,
      audit TEXT NOT NULL UNIQUE,
      made_at DATETIME NOT NULL,
      settings TEXT NOT NULL,
      points INTEGER NOT NULL,
      answered_at DATETIME,
      judged INTEGER,
      unsure INTEGER,
      agreed INTEGER,
      sensitivity DOUBLE,
      sensitivity_points DOUBLE,
      specificity DOUBLE,
      specificity_points DOUBLE,
      bias_percent DOUBLE,
      bias_low_percent DOUBLE,
      bias_high_percent DOUBLE
    )",
};

pub(super) const POINTS: Table = Table {
    name: "audit_points",
    description: "the points of each audit: what the program and the person call them",
    kind: Kind::Attributes,
    sql: "CREATE TABLE audit_points (
      id INTEGER PRIMARY KEY,
      audit TEXT NOT NULL,
      point INTEGER NOT NULL,
      photo TEXT NOT NULL,
      green TEXT NOT NULL,
      date DATE NOT NULL,
      x INTEGER NOT NULL,
      y INTEGER NOT NULL,
      program TEXT NOT NULL,
      answer TEXT,
      UNIQUE (audit, point)
    )",
};

const COLUMNS: &str =
    "SELECT audit, made_at, settings, points, answered_at, judged, unsure, agreed,
  sensitivity, sensitivity_points, specificity, specificity_points, bias_percent, bias_low_percent,
  bias_high_percent FROM audits";

impl Ledger {
    /// Keeps an audit with its points. One of the same name has the same points: it stays, with its answers.
    ///
    /// # Errors
    /// [`LedgerError`]: it is then not kept.
    pub fn add_audit(
        &mut self,
        audit: &AuditRow,
        points: &[AuditPointRow],
    ) -> Result<(), LedgerError> {
        self.write(|database| {
            let n_added = database
                .prepare_cached(
                    "INSERT INTO audits (audit, made_at, settings, points) VALUES (?1, ?2, ?3, ?4)
                     ON CONFLICT (audit) DO NOTHING",
                )?
                .execute(params![
                    audit.audit,
                    date_time(audit.made_at),
                    audit.settings,
                    audit.n_points
                ])?;
            if n_added == 0 {
                return Ok(());
            }
            for point in points {
                insert_point(database, &audit.audit, point)?;
            }
            geopackage::layer_changed(database, &TABLE, std::iter::empty())?;
            geopackage::layer_changed(database, &POINTS, std::iter::empty())
        })
    }

    /// Keeps what a person said of the points of an audit, in place of what was said before.
    ///
    /// # Errors
    /// [`LedgerError`]: all is then as before.
    pub fn answer_audit(
        &mut self,
        audit: &str,
        answers: &BTreeMap<u32, Answer>,
        findings: &AuditFindings,
    ) -> Result<(), LedgerError> {
        self.write(|database| {
            database
                .prepare_cached("UPDATE audit_points SET answer = NULL WHERE audit = ?1")?
                .execute([audit])?;
            for (point, answer) in answers {
                database
                    .prepare_cached(
                        "UPDATE audit_points SET answer = ?3 WHERE audit = ?1 AND point = ?2",
                    )?
                    .execute(params![audit, point, answer.word()])?;
            }
            let percent = |fraction: f64| fraction * 100.0;
            database
                .prepare_cached(
                    "UPDATE audits SET answered_at = ?2, judged = ?3, unsure = ?4, agreed = ?5,
                       sensitivity = ?6, sensitivity_points = ?7,
                       specificity = ?8, specificity_points = ?9,
                       bias_percent = ?10, bias_low_percent = ?11, bias_high_percent = ?12
                     WHERE audit = ?1",
                )?
                .execute(params![
                    audit,
                    date_time(findings.answered_at),
                    findings.n_judged,
                    findings.n_unsure,
                    findings.n_agreed,
                    findings.sensitivity.value(),
                    findings.sensitivity.n,
                    findings.specificity.value(),
                    findings.specificity.n,
                    percent(findings.bias.value),
                    percent(findings.bias.interval.low),
                    percent(findings.bias.interval.high),
                ])?;
            geopackage::layer_changed(database, &TABLE, std::iter::empty())?;
            geopackage::layer_changed(database, &POINTS, std::iter::empty())
        })
    }

    /// Every audit, the first first.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn audits(&self) -> Result<Vec<AuditRow>, LedgerError> {
        let load = || -> Result<Vec<AuditRow>> {
            self.database
                .prepare_cached(&format!("{COLUMNS} ORDER BY id"))?
                .query_map([], read)?
                .collect()
        };
        load().map_err(self.failed())
    }

    /// The audit of these settings that counts: the one with the most judged points and, of several, the one whose
    /// answers were read last. What it found is what is known of the error with which these settings read cover. `None`
    /// where none was judged. An audit that `rule`, the number of a fitted rule, was fitted to counts for nothing: the
    /// rule agrees with it because it was made to.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn last_audit(
        &self,
        settings: &SettingsKey,
        rule: Option<u32>,
    ) -> Result<Option<AuditRow>, LedgerError> {
        let load = || -> Result<Option<AuditRow>> {
            self.database
                .prepare_cached(&format!(
                    "{COLUMNS} WHERE settings = ?1 AND answered_at IS NOT NULL
                       AND audit NOT IN (SELECT audit FROM rule_audits WHERE rule = ?2)
                     ORDER BY judged DESC, answered_at DESC, id DESC LIMIT 1"
                ))?
                .query_row(params![settings, rule], read)
                .optional()
        };
        load().map_err(self.failed())
    }

    /// The points of an audit, by number.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn audit_points(&self, audit: &str) -> Result<Vec<AuditPointRow>, LedgerError> {
        let load = || -> Result<Vec<AuditPointRow>> {
            self.database
                .prepare_cached(
                    "SELECT point, photo, green, date, x, y, program, answer FROM audit_points
                     WHERE audit = ?1 ORDER BY point",
                )?
                .query_map([audit], read_point)?
                .collect()
        };
        load().map_err(self.failed())
    }
}

fn insert_point(database: &Connection, audit: &str, point: &AuditPointRow) -> Result<()> {
    database
        .prepare_cached(
            "INSERT INTO audit_points VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        )?
        .execute(params![
            audit,
            point.point,
            point.photo,
            point.green,
            text(point.date),
            point.x,
            point.y,
            word(point.is_green).word(),
            point.answer.map(Answer::word),
        ])?;
    Ok(())
}

fn word(is_green: bool) -> Answer {
    if is_green { Answer::Green } else { Answer::Not }
}

fn read_point(row: &Row<'_>) -> Result<AuditPointRow> {
    let mut columns = Columns::of(row);
    let mut point = AuditPointRow {
        point: columns.value()?,
        photo: columns.value()?,
        green: columns.value()?,
        date: columns.parsed()?,
        x: columns.value()?,
        y: columns.value()?,
        is_green: false,
        answer: None,
    };
    let program: String = columns.value()?;
    let answer: Option<String> = columns.value()?;
    point.is_green = Answer::from_word(&program) == Some(Answer::Green);
    point.answer = answer.as_deref().and_then(Answer::from_word);
    Ok(point)
}

fn read(row: &Row<'_>) -> Result<AuditRow> {
    let mut columns = Columns::of(row);
    let mut audit = AuditRow {
        audit: columns.value()?,
        made_at: columns.parsed()?,
        settings: columns.value()?,
        n_points: columns.value()?,
        findings: None,
    };
    let answered_at: Option<Timestamp> = columns.parsed_if_any()?;
    if let Some(answered_at) = answered_at {
        let (n_judged, n_unsure, n_agreed) = (columns.value()?, columns.value()?, columns.value()?);
        let mut share = || -> Result<Share> {
            let (value, n): (Option<f64>, f64) = (columns.value()?, columns.value()?);
            Ok(Share {
                hits: value.unwrap_or(0.0) * n,
                n,
            })
        };
        let (sensitivity, specificity) = (share()?, share()?);
        let [value, low, high]: [f64; 3] = [columns.value()?, columns.value()?, columns.value()?]
            .map(|percent: f64| percent / 100.0);
        audit.findings = Some(AuditFindings {
            answered_at,
            n_judged,
            n_unsure,
            n_agreed,
            sensitivity,
            specificity,
            bias: Bias {
                value,
                interval: Interval { low, high },
            },
        });
    }
    Ok(audit)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::ledger::Access;

    fn point(number: u32) -> AuditPointRow {
        AuditPointRow {
            point: number,
            photo: PhotoName("G07/a.jpg".to_owned()),
            green: GreenId::new("G07").unwrap(),
            date: date(2027, 6, 14),
            x: 10 * number,
            y: 7,
            is_green: number.is_multiple_of(2),
            answer: None,
        }
    }

    #[test]
    fn an_audit_and_its_answers_come_back_as_they_were() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.gpkg");
        let mut ledger = Ledger::open(&path, Access::Write).unwrap();
        let settings = SettingsKey("0123456789abcdef".to_owned());
        let row = AuditRow {
            audit: "a1b2c3d4".to_owned(),
            made_at: "2027-06-20T10:00:00Z".parse().unwrap(),
            settings: settings.clone(),
            n_points: 3,
            findings: None,
        };
        let points = [point(1), point(2), point(3)];
        ledger.add_audit(&row, &points).unwrap();
        assert_eq!(ledger.audits().unwrap(), std::slice::from_ref(&row));
        assert_eq!(ledger.audit_points("a1b2c3d4").unwrap(), points);
        assert_eq!(ledger.last_audit(&settings, None).unwrap(), None);

        let answers = BTreeMap::from([(1, Answer::Not), (3, Answer::Unsure)]);
        let findings = AuditFindings {
            answered_at: "2027-06-21T10:00:00Z".parse().unwrap(),
            n_judged: 1,
            n_unsure: 1,
            n_agreed: 1,
            sensitivity: Share { hits: 0.0, n: 0.0 },
            specificity: Share { hits: 1.0, n: 1.0 },
            bias: Bias {
                value: 0.25,
                interval: Interval {
                    low: -0.5,
                    high: 0.75,
                },
            },
        };
        ledger
            .answer_audit("a1b2c3d4", &answers, &findings)
            .unwrap();
        let kept = ledger.last_audit(&settings, None).unwrap().unwrap();
        assert_eq!(kept.findings, Some(findings));
        let given: Vec<_> = ledger
            .audit_points("a1b2c3d4")
            .unwrap()
            .into_iter()
            .map(|point| point.answer)
            .collect();
        assert_eq!(given, [Some(Answer::Not), None, Some(Answer::Unsure)]);
        // Drawn again, it keeps its answers.
        ledger.add_audit(&row, &points).unwrap();
        assert_eq!(ledger.last_audit(&settings, None).unwrap(), Some(kept));
        // Fewer points, judged later, know less; as many take its place.
        for (audit, n_judged, counts) in [("few", 0, "a1b2c3d4"), ("many", 1, "many")] {
            let later = AuditRow {
                audit: audit.to_owned(),
                ..row.clone()
            };
            ledger.add_audit(&later, &points).unwrap();
            let findings = AuditFindings {
                answered_at: "2027-06-22T10:00:00Z".parse().unwrap(),
                n_judged,
                ..findings
            };
            ledger.answer_audit(audit, &answers, &findings).unwrap();
            assert_eq!(
                ledger.last_audit(&settings, None).unwrap().unwrap().audit,
                counts
            );
        }
        let other = SettingsKey("other".to_owned());
        assert_eq!(ledger.last_audit(&other, None).unwrap(), None);
    }
}
