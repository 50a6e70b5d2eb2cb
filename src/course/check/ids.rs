//! Ids: fit for folder names, and no two alike.

use std::collections::BTreeMap;

use super::{Findings, is_hidden_mark};
use crate::course::error::Fault;
use crate::course::id_key;
use crate::course::source::Span;
use crate::course::table::Field;

/// No folder can have these in its name: `/` and `\` part folders, the others are refused by Windows.
const NOT_IN_NAMES: [char; 9] = ['/', '\\', '<', '>', ':', '"', '|', '?', '*'];

/// A spreadsheet takes a cell that begins with one of these for a formula.
const FORMULA_STARTS: [char; 4] = ['=', '+', '-', '@'];

/// What an id is the id of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Owner {
    Green,
    Station,
}

impl Owner {
    fn word(self) -> &'static str {
        match self {
            Owner::Green => "green",
            Owner::Station => "station",
        }
    }

    fn example(self) -> &'static str {
        match self {
            Owner::Green => "G07",
            Owner::Station => "G07-A",
        }
    }
}

/// The ids met so far, by [`id_key`].
#[derive(Debug, Default)]
pub(super) struct Claimed(BTreeMap<String, Claim>);

#[derive(Debug)]
struct Claim {
    owner: Owner,
    id: String,
    span: Span,
}

impl Claimed {
    /// The text of an id that is written, fit for folder names and not yet used.
    pub(super) fn claim(
        &mut self,
        owner: Owner,
        field: &Field<String>,
        heading: &Span,
        findings: &mut Findings<'_>,
    ) -> Option<String> {
        let (noun, example) = (owner.word(), owner.example());
        let Some((id, span)) = field.written() else {
            if field.is_absent() {
                findings.fault(
                    heading.clone(),
                    format!("this {noun} has no id"),
                    "no `id` below",
                    format!(
                        "add id = \"{example}\", as the {noun} is called in folder and photo names"
                    ),
                );
            }
            return None;
        };
        let id = id.trim();
        if let Some((what, label)) = unfit(id) {
            let help = format!(
                "write an id of letters, digits and `-`, such as id = \"{example}\": it names folders and photos"
            );
            findings.fault(span, format!("the id of a {noun} {what}"), label, help);
            return None;
        }
        match self.0.get(&id_key(id)) {
            Some(first) => {
                findings.faults.push(clash(owner, id, span, first));
                None
            }
            None => {
                let claim = Claim {
                    owner,
                    id: id.to_owned(),
                    span,
                };
                self.0.insert(id_key(id), claim);
                Some(id.to_owned())
            }
        }
    }
}

fn unfit(id: &str) -> Option<(String, &'static str)> {
    if id.is_empty() {
        return Some(("is empty".to_owned(), "empty"));
    }
    if let Some(c) = id.chars().find(|c| NOT_IN_NAMES.contains(c)) {
        return Some((
            format!("holds `{c}`, which no folder name can have"),
            "not for folder names",
        ));
    }
    if id.chars().any(is_hidden_mark) {
        return Some((
            "holds a line break or another control character".to_owned(),
            "not for folder names",
        ));
    }
    if id_key(id).is_empty() {
        return Some((
            "has neither a letter nor a digit".to_owned(),
            "nothing to find in a name",
        ));
    }
    if let Some(c) = id.chars().next().filter(|c| FORMULA_STARTS.contains(c)) {
        return Some((
            format!("begins with `{c}`, which makes it a formula in a spreadsheet"),
            "begins like a formula",
        ));
    }
    if id.ends_with('.') || id.starts_with('.') {
        return Some((
            "begins or ends with a point, which makes a bad folder name".to_owned(),
            "not for folder names",
        ));
    }
    None
}

fn clash(owner: Owner, id: &str, span: Span, first: &Claim) -> Fault {
    let is_same = id.to_lowercase() == first.id.to_lowercase();
    let (what, label, help) = if owner != first.owner {
        (
            format!(
                "a {} and a {} are both called `{}`",
                first.owner.word(),
                owner.word(),
                first.id
            ),
            "again here",
            "give the station an id of its own, such as the green's with a letter: `G07-A`"
                .to_owned(),
        )
    } else if is_same {
        (
            format!("two {}s are called `{}`", owner.word(), first.id),
            "again here",
            "give one of them another id; capital and small letters count as the same".to_owned(),
        )
    } else {
        (
            format!("`{}` and `{id}` cannot be told apart in the names of folders and photos", first.id),
            "too like",
            "give one of them another id; only its letters and numbers count, not capitals, leading zeros or signs".to_owned(),
        )
    };
    Fault::new(span, what, label, help).also(first.span.clone(), "first here")
}
