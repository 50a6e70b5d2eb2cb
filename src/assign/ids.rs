//! Finding the ids of greens and stations in folder and file names.
//!
//! A name is cut into words of letters and digits; one to four neighbouring words, joined by `-`, are
//! compared with the ids, which are cut the same way. So `G07-A_2027-06-14` holds the station `G07-A`, `g7`
//! is `G07`, and `G1-2` (the second photo of green 1) is never taken for `G12`.

use std::collections::BTreeMap;

use crate::course::{Course, GreenId, NOUNS, StationId, composed, id_key};

/// Words for turf that is no putting green of the course, whatever number stands beside them: `practice green 1`,
/// `hole 1 tee`. Those that the course file itself uses are taken from them.
const OTHER_TURF: [&str; 19] = [
    "practice",
    "nursery",
    "chipping",
    "pitching",
    "tee",
    "tees",
    "teeing",
    "fairway",
    "fairways",
    "rough",
    "bunker",
    "bunkers",
    "collar",
    "collars",
    "fringe",
    "apron",
    "approach",
    "surround",
    "surrounds",
];

/// The longest id, in words, that is looked for.
const LONGEST_ID: usize = 4;

/// What a folder or file name says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Named {
    /// A green of the course, and the station where one is named.
    Green {
        green: GreenId,
        station: Option<StationId>,
    },
    /// Two greens of the course in one name.
    Several { first: GreenId, second: GreenId },
    /// It has the shape of this course's ids, but is none of them.
    Unknown { named: String },
}

impl Named {
    /// What two pieces of evidence say together; `None` where they contradict each other.
    pub(super) fn agree(&self, other: &Named) -> Option<Named> {
        match (self, other) {
            (
                Named::Green { green, station },
                Named::Green {
                    green: other_green,
                    station: other_station,
                },
            ) => {
                let stations_differ =
                    matches!((station, other_station), (Some(a), Some(b)) if a != b);
                (green == other_green && !stations_differ).then(|| Named::Green {
                    green: green.clone(),
                    station: station.clone().or_else(|| other_station.clone()),
                })
            }
            _ => (self == other).then(|| self.clone()),
        }
    }

    fn is_another_green(&self, other: &Named) -> bool {
        match (self, other) {
            (Named::Green { green, .. }, Named::Green { green: other, .. }) => green != other,
            _ => false,
        }
    }

    /// The id that it names, for a message.
    pub(super) fn label(&self) -> String {
        match self {
            Named::Green {
                station: Some(station),
                ..
            } => station.to_string(),
            Named::Green { green, .. } => green.to_string(),
            Named::Several { first, second } => format!("{first} and {second}"),
            Named::Unknown { named } => named.clone(),
        }
    }
}

#[derive(Debug, Clone)]
struct Entry {
    green: GreenId,
    station: Option<StationId>,
    standing: Standing,
}

/// How much of a name it takes to believe an id.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standing {
    /// Letters and digits, or several words: believed anywhere in a name.
    Anywhere,
    /// A bare number or a single letter, which counters, dates and suffixes look like too: believed as the
    /// first word of a name or after a noun such as `green`.
    FirstOrAfterNoun,
    /// What people call the green, not its id: believed as the whole of a folder's name or after a noun.
    WholeOrAfterNoun,
}

/// The ids of one course, ready for look-up.
#[derive(Debug)]
pub(super) struct IdBook {
    entries: BTreeMap<String, Entry>,
    /// Letters with which ids of the form letters + number begin, such as `g`.
    prefixes: Vec<String>,
    /// Words beside an id that make it another turf's.
    other_turf: Vec<&'static str>,
}

impl IdBook {
    pub(super) fn new(course: &Course) -> IdBook {
        let mut entries = BTreeMap::new();
        let mut prefixes = Vec::new();
        for green in &course.greens {
            let id_words = words(green.id.as_str());
            if let [only] = id_words.as_slice()
                && let Some(prefix) = prefix_of_numbered(only)
            {
                prefixes.push(prefix.to_owned());
            }
            let entry = |standing| Entry {
                green: green.id.clone(),
                station: None,
                standing,
            };
            entries.insert(key(&id_words), entry(standing_of(&id_words)));
            entries
                .entry(key(&words(&green.name)))
                .or_insert_with(|| entry(Standing::WholeOrAfterNoun));
        }
        for station in &course.stations {
            let id_words = words(station.id.as_str());
            let entry = Entry {
                green: station.green.clone(),
                station: Some(station.id.clone()),
                standing: standing_of(&id_words),
            };
            entries.insert(key(&id_words), entry);
        }
        entries.remove("");
        add_spellings(&mut entries);
        prefixes.sort();
        prefixes.dedup();
        IdBook {
            entries,
            prefixes,
            other_turf: other_turf(course),
        }
    }

    /// What the folders above a photo say, the nearest first.
    pub(super) fn in_folders(&self, mut folders: Vec<&str>) -> Option<Named> {
        drop_date_tree(&mut folders);
        let mut told = folders
            .iter()
            .rev()
            .filter_map(|folder| self.in_text(folder));
        let nearest = told.next()?;
        // A green's folder within another green's is a mistake in one of the two.
        match (
            &nearest,
            told.find(|further| nearest.is_another_green(further)),
        ) {
            (Named::Green { green, .. }, Some(Named::Green { green: other, .. })) => {
                Some(Named::Several {
                    first: green.clone(),
                    second: other,
                })
            }
            _ => Some(nearest),
        }
    }

    /// What one folder or file name says.
    pub(super) fn in_text(&self, text: &str) -> Option<Named> {
        let words = words(text);
        let mut found: Vec<&Entry> = Vec::new();
        let mut unknown = None;
        let mut is_other_turf = false;
        let mut start = 0;
        while start < words.len() {
            match self.longest_at(&words, start) {
                Some((n_words, entry)) => {
                    found.push(entry);
                    is_other_turf |= self.is_beside_other_turf(&words, start..start + n_words);
                    start += n_words;
                    while let Some(number) = joined_number(&words, start) {
                        match self.entries.get(&words[number].key) {
                            Some(entry) => found.push(entry),
                            None => is_other_turf = true,
                        }
                        start = number + 1;
                    }
                }
                None => {
                    if unknown.is_none() && self.has_id_shape(&words, start) {
                        unknown = Some(words[start].text.clone());
                    }
                    start += 1;
                }
            }
        }
        if is_other_turf {
            return Some(Named::Unknown {
                named: text.trim().to_owned(),
            });
        }
        let first = found.first();
        match first {
            None => unknown.map(|named| Named::Unknown { named }),
            Some(first) => {
                if let Some(other) = found.iter().find(|entry| entry.green != first.green) {
                    return Some(Named::Several {
                        first: first.green.clone(),
                        second: other.green.clone(),
                    });
                }
                Some(Named::Green {
                    green: first.green.clone(),
                    station: found.iter().find_map(|entry| entry.station.clone()),
                })
            }
        }
    }

    /// Whether the words around an id say that it is no green of the course: before it and its noun, or after it.
    fn is_beside_other_turf(&self, words: &[Word], id: std::ops::Range<usize>) -> bool {
        let before = words[..id.start]
            .iter()
            .rev()
            .find(|word| !NOUNS.contains(&word.key.as_str()));
        let after = words.get(id.end);
        let is_other = |word: &Word| self.other_turf.contains(&word.key.as_str());
        before.is_some_and(is_other) || after.is_some_and(is_other)
    }

    fn longest_at(&self, words: &[Word], start: usize) -> Option<(usize, &Entry)> {
        let longest = LONGEST_ID.min(words.len() - start);
        (1..=longest).rev().find_map(|n_words| {
            let entry = self.entries.get(&key(&words[start..start + n_words]))?;
            let after_noun = start > 0 && NOUNS.contains(&words[start - 1].key.as_str());
            let believed = match entry.standing {
                Standing::Anywhere => true,
                Standing::FirstOrAfterNoun => start == 0 || after_noun,
                Standing::WholeOrAfterNoun => (start == 0 && n_words == words.len()) || after_noun,
            };
            believed.then_some((n_words, entry))
        })
    }

    /// Whether the word at `start` looks like an id of this course: its letters, then at most three digits.
    fn has_id_shape(&self, words: &[Word], start: usize) -> bool {
        let word = &words[start];
        let numbered = prefix_of_numbered(word).is_some_and(|prefix| {
            self.prefixes.iter().any(|known| known == prefix) && word.text.len() - prefix.len() <= 3
        });
        let green_n = start > 0
            && words[start - 1].key == "green"
            && word.text.len() <= 3
            && word.text.bytes().all(|byte| byte.is_ascii_digit());
        numbered || green_n
    }
}

/// The words for other turf that the course file uses for none of its greens.
fn other_turf(course: &Course) -> Vec<&'static str> {
    let of_greens = course
        .greens
        .iter()
        .flat_map(|green| [green.id.as_str(), green.name.as_str()]);
    let of_stations = course.stations.iter().map(|station| station.id.as_str());
    let used: Vec<Word> = of_greens
        .chain(of_stations)
        .chain([course.name.as_str()])
        .flat_map(words)
        .collect();
    let mut left = OTHER_TURF.to_vec();
    left.retain(|word| used.iter().all(|used| used.key != *word));
    left
}

/// Which word from `at` on is a number that is joined to the id before it: `Green 1 and 2`, `G1 & 2`, `G1, 2`. After a
/// comma it has to end the name, or be joined to another number: `G1, 2 June` is one green.
fn joined_number(words: &[Word], at: usize) -> Option<usize> {
    let next = words.get(at)?;
    let is_number =
        |word: &Word| word.text.len() <= 3 && word.text.bytes().all(|byte| byte.is_ascii_digit());
    let has = |word: &Word, joints: &[char]| word.before.contains(joints);
    if next.key == "and" {
        return Some(at + 1).filter(|at| words.get(*at).is_some_and(is_number));
    }
    let ends = |at: usize| {
        let after = words.get(at);
        after.is_none_or(|after| after.key == "and" || has(after, &['&', '+', ',']))
    };
    let is_joined = has(next, &['&', '+']) || has(next, &[',']) && ends(at + 1);
    (is_joined && is_number(next)).then_some(at)
}

/// Adds the other ways in which people write the ids: `Green 7` and `green7` for `G07`, `G07A` for `G07-A`.
/// What two ids could be meant by is left out.
fn add_spellings(entries: &mut BTreeMap<String, Entry>) {
    let mut spellings: BTreeMap<String, Vec<Entry>> = BTreeMap::new();
    for (key, entry) in entries.iter() {
        let number = key.trim_start_matches(|c: char| !c.is_ascii_digit());
        let is_number = !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit());
        let mut add = |spelling: String, standing| {
            let entry = Entry {
                standing,
                ..entry.clone()
            };
            spellings.entry(spelling).or_default().push(entry);
        };
        if entry.station.is_some() {
            add(key.replace('-', ""), Standing::Anywhere);
        } else if is_number && entry.standing != Standing::WholeOrAfterNoun {
            add(number.to_owned(), Standing::WholeOrAfterNoun);
            add(format!("green{number}"), Standing::Anywhere);
        }
    }
    for (spelling, mut meant) in spellings {
        if let (Some(entry), true) = (meant.pop(), meant.is_empty()) {
            entries.entry(spelling).or_insert(entry);
        }
    }
}

/// A run of letters and digits in a name.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Word {
    /// As written.
    text: String,
    /// Lower case, numbers without leading zeros.
    key: String,
    /// What stands between it and the word before.
    before: String,
}

fn words(text: &str) -> Vec<Word> {
    let mut words = Vec::new();
    // An accent that stands apart is no letter, and would end a word.
    let text = composed(text);
    let mut rest = text.as_ref();
    while let Some(start) = rest.find(char::is_alphanumeric) {
        let (before, from) = rest.split_at(start);
        let end = from.find(|c: char| !c.is_alphanumeric());
        let (word, after) = from.split_at(end.unwrap_or(from.len()));
        words.push(Word {
            text: word.to_owned(),
            key: id_key(word),
            before: before.to_owned(),
        });
        rest = after;
    }
    words
}

fn key(words: &[Word]) -> String {
    let keys: Vec<&str> = words.iter().map(|word| word.key.as_str()).collect();
    keys.join("-")
}

fn standing_of(id_words: &[Word]) -> Standing {
    match id_words {
        [only] if only.key.bytes().all(|byte| byte.is_ascii_digit()) => Standing::FirstOrAfterNoun,
        [only] if only.key.chars().count() == 1 => Standing::FirstOrAfterNoun,
        _ => Standing::Anywhere,
    }
}

/// The letters of a word of the form letters + number; `None` for any other word.
fn prefix_of_numbered(word: &Word) -> Option<&str> {
    let letters = word.key.trim_end_matches(|c: char| c.is_ascii_digit());
    let is_numbered = !letters.is_empty()
        && letters.len() < word.key.len()
        && letters.chars().all(char::is_alphabetic);
    is_numbered.then_some(letters)
}

/// Takes away `2027/06/14` and `2027/06`: months and days are not greens.
fn drop_date_tree(folders: &mut Vec<&str>) {
    let number = |text: &str, n_digits: usize| -> Option<u32> {
        let fits = text.len() == n_digits && text.bytes().all(|byte| byte.is_ascii_digit());
        if fits { text.parse().ok() } else { None }
    };
    let Some(year_idx) = folders
        .iter()
        .position(|folder| number(folder, 4).is_some_and(|year| (1990..=2100).contains(&year)))
    else {
        return;
    };
    let n_numbers = folders[year_idx + 1..]
        .iter()
        .take(2)
        .take_while(|folder| number(folder, 2).is_some_and(|n| (1..=31).contains(&n)))
        .count();
    folders.drain(year_idx..=year_idx + n_numbers);
}
