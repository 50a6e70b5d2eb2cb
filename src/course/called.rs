//! Which green a person means: by its id, by what it is called, or by its number alone.

use super::{Green, id_key};

/// Words before a green's id, name or number: `Green 7`, `plot_101`.
pub(crate) const NOUNS: [&str; 5] = ["green", "hole", "plot", "no", "nr"];

/// What a text that should name a green says.
#[derive(Debug, Clone, PartialEq)]
pub enum Called<'g> {
    /// This one.
    One(&'g Green),
    /// Any of these.
    Several(Vec<&'g Green>),
    /// None of the course's.
    Nothing,
}

impl<'g> Called<'g> {
    /// The one green that is meant.
    ///
    /// # Errors
    /// A sentence, without a final stop, that says what to write instead.
    pub fn one(self, text: &str, greens: &[Green]) -> Result<&'g Green, String> {
        let ids = |greens: &mut dyn Iterator<Item = &Green>, between: &str| {
            greens
                .map(|green| green.id.as_str())
                .collect::<Vec<_>>()
                .join(between)
        };
        match self {
            Called::One(green) => Ok(green),
            Called::Several(meant) => Err(format!(
                "`{text}` may mean {}; write which",
                ids(&mut meant.into_iter(), " or ")
            )),
            Called::Nothing => Err(format!(
                "`{text}` is not a green of the course file; its greens are {}",
                ids(&mut greens.iter(), ", ")
            )),
        }
    }
}

/// The green that the whole of `text` names, letters of either case and zeros before numbers alike: by its id; else by its
/// name; else, as `3`, `Green 3`, `hole 3` or `#3`, by the number of its id. A name or a number that several have is none's.
pub fn green_called<'g>(text: &str, greens: &'g [Green]) -> Called<'g> {
    let key = id_key(text);
    if key.is_empty() {
        return Called::Nothing;
    }
    let alone = without_noun(&key);
    let is_said = |said: &str| said == key || said == alone;
    let ways: [&dyn Fn(&Green) -> bool; 4] = [
        &|green| id_key(green.id.as_str()) == key,
        &|green| id_key(green.id.as_str()) == alone,
        &|green| is_said(&id_key(&green.name)),
        &|green| is_numbered(&id_key(green.id.as_str()), alone),
    ];
    for is_meant in ways {
        let mut meant: Vec<&Green> = greens.iter().filter(|green| is_meant(green)).collect();
        match meant.len() {
            0 => {}
            1 => return Called::One(meant.remove(0)),
            _ => return Called::Several(meant),
        }
    }
    Called::Nothing
}

/// `green-3` and `green3` as `3`; what is not a noun before something else stays.
fn without_noun(key: &str) -> &str {
    let after = |noun: &&str| {
        let rest = key.strip_prefix(*noun)?;
        match rest.strip_prefix('-') {
            Some(word) => Some(word),
            None => rest
                .starts_with(|c: char| c.is_ascii_digit())
                .then_some(rest),
        }
    };
    NOUNS.iter().find_map(after).unwrap_or(key)
}

/// Whether an id is letters and this number: `g7` and `7`.
fn is_numbered(id: &str, number: &str) -> bool {
    let is_number = !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit());
    let letters = id.strip_suffix(number).unwrap_or_default();
    is_number && !letters.is_empty() && letters.chars().all(char::is_alphabetic)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::course::Course;

    const COURSE: &str = "[course]\nname = \"Pennywhistle Bend\"\ntime_zone = \"UTC\"\n\
        [[green]]\nid = \"G03\"\nname = \"Long Ditch\"\nplanted = 2027-05-17\n\
        [[green]]\nid = \"F7\"\nplanted = 2027-05-17\n\
        [[green]]\nid = \"B07\"\nplanted = 2027-05-17\n\
        [[green]]\nid = \"nursery\"\nname = \"Green 9\"\nplanted = 2027-05-17\n";

    #[test]
    fn a_green_is_known_by_id_name_or_number_where_only_one_is_meant() {
        let course = Course::parse(COURSE, "course.toml", Path::new("season")).unwrap();
        let said = |text: &str| {
            let called = green_called(text, &course.greens);
            called
                .one(text, &course.greens)
                .map(|green| green.id.to_string())
        };
        for (text, id) in [
            ("g3", "G03"),
            ("3", "G03"),
            ("Green 3", "G03"),
            ("green03", "G03"),
            ("hole_3", "G03"),
            ("#3", "G03"),
            ("green G03", "G03"),
            ("long ditch", "G03"),
            ("f07", "F7"),
            ("green 9", "nursery"),
            (" Nursery ", "nursery"),
        ] {
            assert_eq!(said(text).as_deref(), Ok(id), "{text}");
        }
        assert_eq!(
            said("7"),
            Err("`7` may mean F7 or B07; write which".to_owned())
        );
        assert_eq!(
            said("G04"),
            Err(
                "`G04` is not a green of the course file; its greens are G03, F7, B07, nursery"
                    .to_owned()
            )
        );
        for nothing in ["", "4", "3b", "green", "practice green 3", "03.5"] {
            assert!(said(nothing).is_err(), "{nothing}");
        }
    }
}
