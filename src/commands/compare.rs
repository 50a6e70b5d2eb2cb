//! `sprigcast compare`: which rate, date or treatment made a difference.

use std::fs;

use super::Outcome;
use super::cli::{CompareArgs, CompareFormat, JudgeBy, LettersBy};
use super::failure::Failure;
use super::forecast::season_from_file;
use super::season;
use super::terminal;
use crate::compare::{self, Comparison, Question, Response, Rule};
use crate::course::Course;
use crate::files::write_whole;
use crate::pipeline::{self, cover_points};
use crate::report;

pub(super) fn run(args: &CompareArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let record = season::record(&course)?;
    let season = match &args.cover {
        Some(path) => season_from_file(path, &course, &record.log)?,
        None => {
            let ledger = season::ledger_to_read(&course)?;
            let season = season::as_measured(&course, &ledger, &record.log)?;
            season::warn_of_unmeasured(&season)?;
            season
        }
    };
    let visits = cover_points(&season);
    let comparison = pipeline::compare(&course, &visits, &question(args)?, &record)?;
    if let Some(folder) = &args.out {
        fs::create_dir_all(folder).map_err(|error| Failure::write(folder, error))?;
        for (name, bytes) in report::comparison_files(&comparison, course.units) {
            write_whole(&folder.join(name), &bytes)?;
        }
    }
    match args.format {
        CompareFormat::Json => terminal::say_json(&comparison)?,
        CompareFormat::Csv => terminal::say_bytes(&report::means_csv(&comparison))?,
        CompareFormat::Text => {
            terminal::say(&report::comparison_text(
                &comparison,
                &course.name,
                course.units,
            ))?;
        }
    }
    warn_of_problems(&course, &comparison);
    Ok(outcome(&comparison))
}

fn question(args: &CompareArgs) -> Result<Question, Failure> {
    let trimmed = |names: &[String]| {
        let mut once: Vec<String> = Vec::new();
        for name in names.iter().map(|name| name.trim()) {
            if !once.iter().any(|other| other == name) {
                once.push(name.to_owned());
            }
        }
        once
    };
    let judge_by = match (args.judge_by, args.on) {
        (JudgeBy::DaysToFull, _) => Response::DaysToFull,
        (JudgeBy::DaysToHalf, _) => Response::DaysToHalf,
        (JudgeBy::PointsPerWeek, _) => Response::PointsPerWeek,
        (JudgeBy::MeanCover, _) => Response::MeanCover,
        (JudgeBy::Cover, Some(date)) => Response::CoverOn(date),
        (JudgeBy::Cover, None) => {
            return Err(Failure::Usage(
                "to judge by cover, say on which date: add --on DATE, such as --on 2027-06-29"
                    .to_owned(),
            ));
        }
    };
    Ok(Question {
        by: trimmed(&args.by),
        judge_by,
        on: args.on,
        control: args.control.clone(),
        letters_by: match args.letters {
            LettersBy::Tukey => Rule::Tukey,
            LettersBy::Lsd => Rule::Lsd,
        },
        alpha: Question::ALPHA,
        adjust: trimmed(&args.adjust),
    })
}

fn warn_of_problems(course: &Course, comparison: &Comparison) {
    let problems = comparison.inputs.iter().flat_map(|inputs| &inputs.problems);
    for problem in problems {
        terminal::warn(&format!("{}: {problem}", course.name));
    }
}

/// What is described and not tested needs a person: only more greens can answer it.
fn outcome(comparison: &Comparison) -> Outcome {
    let is_tested =
        |answer: &compare::Answer| matches!(answer.outcome, compare::Outcome::Tested(_));
    if comparison.answers.iter().any(is_tested) {
        Outcome::Done
    } else {
        Outcome::NeedsAPerson
    }
}
