//! Remarks on single greens, told once where several say the same: word for word, or but for one date.

use super::format::capitalised;

/// A remark and whom it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Names of its greens, in their order.
    pub greens: Vec<String>,
    /// The remark; where its greens differ in a date they are named beside it.
    pub text: String,
    /// Whether the greens are named in the text already.
    pub names_greens: bool,
}

impl Told {
    /// `G03, G07: …`; `All 18 greens: …` where it is about so many as there are, and there are more than two.
    pub fn line(&self, n_greens: usize) -> String {
        if self.names_greens {
            return capitalised(&self.text);
        }
        let n = self.greens.len();
        let whom = if n > 2 && n == n_greens {
            format!("All {n} greens")
        } else {
            self.greens.join(", ")
        };
        format!("{whom}: {}", self.text)
    }
}

/// Remarks, each with the green that it is on, in the order of the first green of each.
///
/// Two say the same where their words are equal, the first date aside: `topdressed on Jul 7 (G03, G12) and Jul 8 (G07): …`.
pub fn told_once<'n>(notes: impl IntoIterator<Item = (String, &'n str)>) -> Vec<Told> {
    let mut groups: Vec<(Parts<'n>, Vec<(String, &'n str)>)> = Vec::new();
    for (green, note) in notes {
        let parts = Parts::of(note);
        // What a green says twice, of two dates, stays two remarks.
        let same = groups.iter_mut().find(|(known, of)| {
            (known.before, known.after) == (parts.before, parts.after)
                && of.iter().all(|(other, _)| *other != green)
        });
        match same {
            Some((_, of)) => of.push((green, parts.date)),
            None => groups.push((parts, vec![(green, parts.date)])),
        }
    }
    groups
        .into_iter()
        .map(|(parts, of)| parts.told(of))
        .collect()
}

/// A remark around its first date.
#[derive(Debug, Clone, Copy)]
struct Parts<'n> {
    before: &'n str,
    /// Empty where there is none.
    date: &'n str,
    after: &'n str,
}

impl<'n> Parts<'n> {
    fn of(note: &'n str) -> Parts<'n> {
        let (from, to) = first_date(note).unwrap_or((note.len(), note.len()));
        Parts {
            before: &note[..from],
            date: &note[from..to],
            after: &note[to..],
        }
    }

    fn told(self, of: Vec<(String, &'n str)>) -> Told {
        let greens: Vec<String> = of.iter().map(|(green, _)| green.clone()).collect();
        let mut by_date: Vec<(&str, Vec<String>)> = Vec::new();
        for (green, date) in of {
            match by_date.iter_mut().find(|(known, _)| *known == date) {
                Some((_, greens)) => greens.push(green),
                None => by_date.push((date, vec![green])),
            }
        }
        let names_greens = by_date.len() > 1;
        let date = if names_greens {
            let each = by_date
                .iter()
                .map(|(date, greens)| format!("{date} ({})", greens.join(", ")));
            and(&each.collect::<Vec<_>>())
        } else {
            self.date.to_owned()
        };
        Told {
            greens,
            text: format!("{}{date}{}", self.before, self.after),
            names_greens,
        }
    }
}

/// `a, b and c`.
fn and(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// Where the first `Jul 7` or `7 Jul` begins and ends.
fn first_date(text: &str) -> Option<(usize, usize)> {
    let is_day = |word: &str| {
        (1..=2).contains(&word.len()) && word.bytes().all(|byte| byte.is_ascii_digit())
    };
    let word_at = |from: usize| {
        let rest = &text[from..];
        let end = rest
            .find(|c: char| !c.is_alphanumeric())
            .unwrap_or(rest.len());
        &rest[..end]
    };
    let mut from = 0;
    while from < text.len() {
        let first = word_at(from);
        let next_at = from + first.len() + 1;
        if !first.is_empty() && text[from + first.len()..].starts_with(' ') {
            let second = word_at(next_at);
            let is_date = MONTHS.contains(&first) && is_day(second)
                || is_day(first) && MONTHS.contains(&second);
            if is_date {
                return Some((from, next_at + second.len()));
            }
        }
        let after = from + first.len();
        from = after + text[after..].chars().next().map_or(1, char::len_utf8);
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(notes: &[(&str, &str)], n_greens: usize) -> Vec<String> {
        let notes = notes
            .iter()
            .map(|(green, note)| ((*green).to_owned(), *note));
        told_once(notes)
            .iter()
            .map(|told| told.line(n_greens))
            .collect()
    }

    #[test]
    fn what_several_greens_share_is_told_once_with_their_dates() {
        let note = |day| {
            format!(
                "topdressed on Jul {day}: sand hides leaves, so the visit of Jul 12 is not fitted"
            )
        };
        let (seventh, eighth) = (note(7), note(8));
        let told = lines(
            &[
                ("G03", &seventh),
                ("G03", "Look at it."),
                ("G07", &eighth),
                ("G12", &seventh),
                ("G12", "look at it, ünd mind the 7 sprinklers"),
                ("G16", "Look at it."),
            ],
            4,
        );
        assert_eq!(
            told,
            [
                "Topdressed on Jul 7 (G03, G12) and Jul 8 (G07): sand hides leaves, so the visit of Jul 12 is not fitted",
                "G03, G16: Look at it.",
                "G12: look at it, ünd mind the 7 sprinklers",
            ]
        );
    }

    #[test]
    fn other_words_or_a_second_date_that_differs_are_told_apart() {
        let told = lines(
            &[
                ("G03", "from 7 Jul to 9 Jul"),
                ("G07", "from 8 Jul to 9 Jul"),
                ("G12", "from 8 Jul to 10 Jul"),
            ],
            3,
        );
        assert_eq!(
            told,
            [
                "From 7 Jul (G03) and 8 Jul (G07) to 9 Jul",
                "G12: from 8 Jul to 10 Jul"
            ]
        );
        let twice = [
            ("G03", "dry on Jul 7"),
            ("G03", "dry on Jul 14"),
            ("G07", "dry on Jul 14"),
        ];
        assert_eq!(
            lines(&twice, 2),
            ["Dry on Jul 7 (G03) and Jul 14 (G07)", "G03: dry on Jul 14"]
        );
    }

    #[test]
    fn all_greens_are_not_counted_up() {
        let same = [("G03", "dry"), ("G07", "dry"), ("G12", "dry")];
        assert_eq!(lines(&same, 3), ["All 3 greens: dry"]);
        assert_eq!(lines(&same, 4), ["G03, G07, G12: dry"]);
    }
}
