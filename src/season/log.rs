//! The log of a season: what was done to the greens and what befell them.

use jiff::civil::Date;
use thiserror::Error;

use crate::course::GreenId;
use crate::written::{DateOrder, Row, TableError, excerpt, is_missing, table};

/// The log of a season.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Log {
    /// In order of date, and of the file within a day.
    pub entries: Vec<LogEntry>,
    /// Lines that could not be used, a sentence each.
    pub problems: Vec<String>,
    /// Lines that are used and may be slips, a sentence each.
    pub remarks: Vec<String>,
}

/// One line of the log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogEntry {
    /// When.
    pub date: Date,
    /// On which green; `None` stands for all of them.
    pub green: Option<GreenId>,
    /// What, as far as it matters to the program.
    pub what: What,
    /// What, as written.
    pub what_text: String,
    /// How much, in `unit`.
    pub amount: Option<f64>,
    /// As written: `lb/1000ft2`, `in`.
    pub unit: String,
    /// Percent N, P2O5 and K2O as written on the bag: `18-24-12`.
    pub analysis: String,
    /// As written.
    pub note: String,
    /// Line of the file, the heading being line 1.
    pub line: u64,
}

/// What a line of the log is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// Sand spread over the turf; it hides leaves for a while ([`HIDDEN_DAYS`](super::HIDDEN_DAYS)).
    Topdressed,
    /// Sprigs or sand carried off by water.
    Washout,
    /// Sprigs planted again.
    Resprigged,
    /// Mown too low; the leaves come back.
    Scalped,
    /// Plant food.
    Fertiliser,
    /// Water given.
    Irrigation,
    /// Mown.
    Mowing,
    /// Rolled.
    Rolling,
    /// A product under a label: herbicide, fungicide, pre-plant treatment and the like.
    Product,
    /// A remark for the report.
    Note,
    /// Anything else.
    Other,
}

impl What {
    /// From the words people use, in American and British spelling.
    ///
    /// What was done goes before what it mended: a washout that is resprigged is resprigged. Words are matched by their
    /// beginning, alone or joined to the next one (`top-dressing`, `wash out`), so that a floodlight is no flood.
    pub fn from_words(words: &str) -> What {
        let words = words.to_lowercase();
        let words: Vec<&str> = words
            .split(|c: char| !c.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .collect();
        let joined: Vec<String> = words.windows(2).map(|pair| pair.concat()).collect();
        let begins = |stems: &[&str]| {
            let begins = |word: &str| stems.iter().any(|stem| word.starts_with(stem));
            words.iter().any(|word| begins(word)) || joined.iter().any(|word| begins(word))
        };
        let holds = |stems: &[&str]| {
            words
                .iter()
                .any(|word| stems.iter().any(|stem| word.contains(stem)))
        };
        let is_flood = |place: usize| {
            let next = words.get(place + 1).copied().unwrap_or_default();
            ["flood", "floods", "flooded", "flooding"].contains(&words[place])
                && !next.starts_with("light")
        };
        if holds(&[
            "herbicid",
            "fungicid",
            "insecticid",
            "pesticid",
            "nematicid",
        ]) || begins(&["preplant", "product", "fumig", "wetting"])
        {
            What::Product
        } else if begins(&["topdress", "sanded", "sanding"]) {
            What::Topdressed
        } else if begins(&["resprig", "replant"]) {
            What::Resprigged
        } else if begins(&[
            "washout",
            "washedout",
            "washoff",
            "washedoff",
            "washedaway",
            "erosion",
            "eroded",
        ]) || (0..words.len()).any(is_flood)
        {
            What::Washout
        } else if begins(&["scalp"]) {
            What::Scalped
        } else if begins(&[
            "fertili", "fert", "feed", "fed", "nutrient", "urea", "potash",
        ]) {
            What::Fertiliser
        } else if begins(&["irrigat", "water", "syring"]) {
            What::Irrigation
        } else if begins(&["mow", "cut"]) {
            What::Mowing
        } else if begins(&["roll"]) {
            What::Rolling
        } else if begins(&["note", "remark"]) {
            What::Note
        } else {
            What::Other
        }
    }
}

/// Why a log cannot be read at all.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LogError {
    /// The table cannot be taken apart.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A column that every line needs is missing.
    #[error(
        "line 1: the log has no column `{column}`; its first line reads date,green,what,amount,unit,analysis,note"
    )]
    NoColumn {
        /// The column.
        column: &'static str,
    },
}

impl Log {
    /// What concerns a green: its own lines and those of all greens.
    pub fn of<'a>(&'a self, green: &'a GreenId) -> impl Iterator<Item = &'a LogEntry> {
        self.entries
            .iter()
            .filter(move |entry| entry.green.as_ref().is_none_or(|id| id == green))
    }
}

/// Reads `date,green,what,amount,unit,analysis,note`, saved as any spreadsheet saves it; all but date and what may be
/// left out. An empty green, `all` or `*` stands for every green. A line that cannot be used is a problem and not an
/// error; day and month are never swapped silently.
///
/// # Errors
///
/// [`LogError`] where the table cannot be taken apart, or a column that every line needs is missing.
pub fn read_log_csv(file: impl AsRef<[u8]>) -> Result<Log, LogError> {
    let table = table(file.as_ref())?;
    if table.names.is_empty() {
        return Ok(Log::default());
    }
    let needed = |name| {
        table
            .column(name)?
            .ok_or(LogError::NoColumn { column: name })
    };
    let (date_at, what_at) = (needed("date")?, needed("what")?);
    let mut places = [None; 5];
    for (place, name) in places
        .iter_mut()
        .zip(["green", "amount", "unit", "analysis", "note"])
    {
        *place = table.column(name)?;
    }
    let order = DateOrder::of(table.values(date_at));
    let mut log = Log::default();
    for row in &table.rows {
        match entry(row, date_at, what_at, places, order) {
            Ok(entry) => {
                log.remarks.extend(slip(&entry));
                log.entries.push(entry);
            }
            Err(problem) => log.problems.push(problem),
        }
    }
    log.entries.sort_by_key(|entry| (entry.date, entry.line));
    Ok(log)
}

/// Words that the program does something with, as people are shown them.
const WORDS: [&str; 13] = [
    "topdressing",
    "topdressed",
    "washout",
    "resprigged",
    "scalped",
    "fertiliser",
    "fertilizer",
    "irrigation",
    "mowing",
    "rolling",
    "herbicide",
    "fungicide",
    "insecticide",
];

/// What to say where an entry has none of the words, but one that is nearly one of them.
fn slip(entry: &LogEntry) -> Option<String> {
    if entry.what != What::Other {
        return None;
    }
    let written = entry.what_text.to_lowercase();
    let meant = written.split_whitespace().find_map(|word| {
        let most = word.chars().count() / 5;
        WORDS
            .into_iter()
            .find(|meant| strsim::damerau_levenshtein(word, meant) <= most)
    })?;
    Some(format!(
        "line {} of the log: `{}` is kept as a remark; if {meant} is meant, write that",
        entry.line,
        excerpt(&entry.what_text)
    ))
}

fn entry(
    row: &Row,
    date_at: usize,
    what_at: usize,
    places: [Option<usize>; 5],
    order: DateOrder,
) -> Result<LogEntry, String> {
    let line = row.line;
    if row.fits().is_err() {
        return Err(format!(
            "line {line} of the log has more values than the first line has names; put quotes around a value that holds the character between values, such as \"0,05\""
        ));
    }
    let [green, amount, unit, analysis, note] = places.map(|place| row.at(place));
    let date = order.read(row.at(date_at)).map_err(|advice| {
        let found = excerpt(row.at(date_at));
        format!("line {line} of the log: the date is `{found}`; write {advice}")
    })?;
    let what_text = row.at(what_at);
    if what_text.is_empty() {
        return Err(format!(
            "line {line} of the log does not say what was done; write it under `what`, such as mowing"
        ));
    }
    let amount = match amount {
        written if is_missing(written) => None,
        written => {
            let read = row.number(places[1]);
            let sound = read.filter(|amount| amount.is_finite() && *amount >= 0.0);
            Some(sound.ok_or_else(|| {
                let usual = "a number such as 0.5 and its unit under `unit`";
                let advice = row.number_advice(places[1], usual);
                format!(
                    "line {line} of the log: the amount is `{}`; write {advice}",
                    excerpt(written)
                )
            })?)
        }
    };
    let is_all = green.eq_ignore_ascii_case("all") || green == "*";
    Ok(LogEntry {
        date,
        green: GreenId::new(green).filter(|_| !is_all),
        what: What::from_words(what_text),
        what_text: what_text.to_owned(),
        amount,
        unit: unit.to_owned(),
        analysis: analysis.to_owned(),
        note: note.to_owned(),
        line,
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn a_log_is_read_in_order_of_date() {
        let log = read_log_csv(
            "date,green,what,amount,unit,analysis,note\n\
             2027-07-07,G03,topdressing,0.05,in,,\"light, brushed in\"\n\
             2027-05-31,G07,fertiliser,0.5,lb/1000ft2,18-24-12,first feeding\n\
             2027-06-01,,irrigation,0.15,in,,\n",
        )
        .unwrap();
        assert_eq!(log.problems, Vec::<String>::new());
        let g07 = GreenId::new("g07").unwrap();
        let of_g07: Vec<_> = log.of(&g07).map(|entry| (entry.date, entry.what)).collect();
        assert_eq!(
            of_g07,
            [
                (date(2027, 5, 31), What::Fertiliser),
                (date(2027, 6, 1), What::Irrigation)
            ]
        );
        let last = log.entries.last().unwrap();
        assert_eq!((last.line, last.amount), (2, Some(0.05)));
        assert_eq!(last.note, "light, brushed in");
    }

    #[test]
    fn semicolons_and_decimal_commas_are_read() {
        let log = read_log_csv("Date;Green;What;Amount;Unit\n20.6.2027;G03;Topdressing;0,05;in\n")
            .unwrap();
        assert_eq!(log.entries[0].date, date(2027, 6, 20));
        assert_eq!(log.entries[0].amount, Some(0.05));
    }

    #[test]
    fn thousands_are_not_taken_for_decimals() {
        let log = read_log_csv(
            "date,green,what,amount,unit\n2027-06-01,G03,irrigation,\"1,200\",gal\n\
             2027-06-02,G03,irrigation,\"1,200,000\",gal\n",
        )
        .unwrap();
        assert_eq!(
            log.problems,
            ["line 2 of the log: the amount is `1,200`; write 1200 or 1.2"]
        );
        assert_eq!(log.entries[0].amount, Some(1_200_000.0));
        let told = "date,green,what,amount,unit\n2027-06-01,G03,irrigation,\"1,200\",gal\n\
                    2027-06-02,G03,irrigation,\"0,5\",gal\n";
        assert_eq!(read_log_csv(told).unwrap().entries[0].amount, Some(1.2));
    }

    #[test]
    fn slips_of_words_and_numbers_are_told() {
        let log = read_log_csv(
            "date,green,what,amount,unit\n\
             2027-06-01,G03,topdresing,0.05,in\n\
             2027-06-02,G03,verticutting,,\n\
             2027-06-03,G03,irrigation,-0.5,in\n\
             2027-06-04,G03,irrigation,1,5,mm\n\
             2027-06-05,G03,rolling,,,\n",
        )
        .unwrap();
        assert_eq!(
            log.remarks,
            [
                "line 2 of the log: `topdresing` is kept as a remark; if topdressing is meant, write that"
            ]
        );
        assert_eq!(
            log.problems,
            [
                "line 4 of the log: the amount is `-0.5`; write a number such as 0.5 and its unit under `unit`",
                "line 5 of the log has more values than the first line has names; put quotes around a value that holds the character between values, such as \"0,05\"",
            ]
        );
        let kept: Vec<u64> = log.entries.iter().map(|entry| entry.line).collect();
        assert_eq!(kept, [2, 3, 6]);
    }

    #[test]
    fn a_line_that_cannot_be_used_is_told_and_the_others_stand() {
        let log = read_log_csv(
            "date,green,what,amount\n6/1/2027,G03,mowing,\n2027-06-02,G03,,\n2027-06-03,G03,rolling,twice\n\
             2027-06-04,all,rolling,\n",
        )
        .unwrap();
        assert_eq!(log.entries.len(), 1);
        assert_eq!(log.entries[0].green, None);
        assert_eq!(
            log.problems,
            [
                "line 2 of the log: the date is `6/1/2027`; write 2027-06-01 for June 1 or 2027-01-06 for January 6",
                "line 3 of the log does not say what was done; write it under `what`, such as mowing",
                "line 4 of the log: the amount is `twice`; write a number such as 0.5 and its unit under `unit`"
            ]
        );
        assert_eq!(read_log_csv("").unwrap(), Log::default());
        assert!(
            read_log_csv("when,what\n")
                .unwrap_err()
                .to_string()
                .contains("column `date`")
        );
    }

    #[test]
    fn words_of_the_trade_are_known() {
        for (words, what) in [
            ("Top-dressing", What::Topdressed),
            ("topdressed", What::Topdressed),
            ("wash-out after storm", What::Washout),
            ("re-sprigged", What::Resprigged),
            ("resprigging left front", What::Resprigged),
            ("fertilizer", What::Fertiliser),
            ("fertiliser", What::Fertiliser),
            ("pre-plant herbicide", What::Product),
            ("mowed", What::Mowing),
            ("scalping", What::Scalped),
            ("note", What::Note),
            ("aerification", What::Other),
            ("Resprigged washout area", What::Resprigged),
            ("washed-out corner re-sprigged", What::Resprigged),
            ("washed out by the flood", What::Washout),
            ("flooding", What::Washout),
            ("front left washed away", What::Washout),
            ("floodlight repaired", What::Other),
            ("flood-light repaired", What::Other),
            ("stop dressing the tees", What::Other),
            ("pre-emergence herbicide after the washout", What::Product),
        ] {
            assert_eq!(What::from_words(words), what, "{words}");
        }
    }
}
