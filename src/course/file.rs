//! The course file as written: one struct a table, nothing checked but the kind of each value.
//!
//! A new key is a name in `KEYS`, a field and a line in `read`; a new table is a struct, a line in
//! [`TABLES`] and a field of [`CourseFile`].

use toml::Spanned;

use super::source::Span;
use super::table::{Field, Table, TableReader};

/// Every table with its keys, for telling where a key belongs.
pub(super) const TABLES: &[(&str, &[&str])] = &[
    (CourseTable::HEADING, CourseTable::KEYS),
    (PhotosTable::HEADING, PhotosTable::KEYS),
    (CoverTable::HEADING, CoverTable::KEYS),
    (GoalTable::HEADING, GoalTable::KEYS),
    (WeatherTable::HEADING, WeatherTable::KEYS),
    (NormalsTable::HEADING, NormalsTable::KEYS),
    (SeasonTable::HEADING, SeasonTable::KEYS),
    (FirstFreezeTable::HEADING, FirstFreezeTable::KEYS),
    (MoneyTable::HEADING, MoneyTable::KEYS),
    (GreenTable::HEADING, GreenTable::KEYS),
    (StationTable::HEADING, StationTable::KEYS),
];

/// The whole file.
pub(super) struct CourseFile {
    pub(super) course: CourseTable,
    pub(super) photos: PhotosTable,
    pub(super) cover: CoverTable,
    pub(super) goal: GoalTable,
    pub(super) weather: WeatherTable,
    pub(super) season: SeasonTable,
    pub(super) money: MoneyTable,
    pub(super) greens: Field<Vec<GreenTable>>,
    pub(super) stations: Field<Vec<StationTable>>,
    /// The first line.
    pub(super) top: Span,
}

impl Table for CourseFile {
    const HEADING: &'static str = "the course file";
    const KEYS: &'static [&'static str] = &[
        "course", "photos", "cover", "goal", "weather", "season", "money", "green", "station",
    ];

    fn read(reader: &mut TableReader<'_, '_>) -> CourseFile {
        CourseFile {
            course: reader.table("course"),
            photos: reader.table("photos"),
            cover: reader.table("cover"),
            goal: reader.table("goal"),
            weather: reader.table("weather"),
            season: reader.table("season"),
            money: reader.table("money"),
            greens: reader.tables("green"),
            stations: reader.tables("station"),
            top: reader.span(),
        }
    }
}

/// `[course]`.
pub(super) struct CourseTable {
    pub(super) heading: Span,
    pub(super) name: Field<String>,
    pub(super) time_zone: Field<String>,
    pub(super) sprig_bushel: Field<String>,
    pub(super) units: Field<String>,
    pub(super) dates: Field<String>,
    pub(super) clock: Field<String>,
    pub(super) latitude: Field<f64>,
    pub(super) longitude: Field<f64>,
    pub(super) elevation: Field<String>,
}

impl Table for CourseTable {
    const HEADING: &'static str = "[course]";
    const KEYS: &'static [&'static str] = &[
        "name",
        "time_zone",
        "sprig_bushel",
        "units",
        "dates",
        "clock",
        "latitude",
        "longitude",
        "elevation",
    ];

    fn read(reader: &mut TableReader<'_, '_>) -> CourseTable {
        CourseTable {
            heading: reader.span(),
            name: reader.text("name"),
            time_zone: reader.text("time_zone"),
            sprig_bushel: reader.quantity("sprig_bushel", "ft3"),
            units: reader.text("units"),
            dates: reader.text("dates"),
            clock: reader.text("clock"),
            latitude: reader.number("latitude", "36.1"),
            longitude: reader.number("longitude", "-79.4"),
            elevation: reader.quantity("elevation", "ft"),
        }
    }
}

/// `[photos]`.
pub(super) struct PhotosTable {
    pub(super) folder: Field<String>,
    pub(super) assign: Field<Vec<Spanned<String>>>,
    pub(super) leave_out: Field<Vec<Spanned<String>>>,
    pub(super) date_by_name: Field<Vec<Spanned<String>>>,
}

impl Table for PhotosTable {
    const HEADING: &'static str = "[photos]";
    const KEYS: &'static [&'static str] = &["folder", "assign", "leave_out", "date_by_name"];

    fn read(reader: &mut TableReader<'_, '_>) -> PhotosTable {
        PhotosTable {
            folder: reader.text("folder"),
            assign: reader.words("assign", r#"["slate", "folder", "name", "place"]"#),
            leave_out: reader.words("leave_out", r#"["G07/IMG_2041.jpg", "old"]"#),
            date_by_name: reader.words("date_by_name", r#"["G07/2027-06-14", "phone two"]"#),
        }
    }
}

/// `[cover]`.
pub(super) struct CoverTable {
    pub(super) hue: Field<[f64; 2]>,
    pub(super) saturation: Field<[f64; 2]>,
}

impl Table for CoverTable {
    const HEADING: &'static str = "[cover]";
    const KEYS: &'static [&'static str] = &["hue", "saturation"];

    fn read(reader: &mut TableReader<'_, '_>) -> CoverTable {
        CoverTable {
            hue: reader.numbers("hue", "[45.0, 120.0]"),
            saturation: reader.numbers("saturation", "[10.0, 100.0]"),
        }
    }
}

/// `[goal]`.
pub(super) struct GoalTable {
    pub(super) full_cover: Field<f64>,
    pub(super) open_by: Field<String>,
    pub(super) mow_at: Field<f64>,
}

impl Table for GoalTable {
    const HEADING: &'static str = "[goal]";
    const KEYS: &'static [&'static str] = &["full_cover", "open_by", "mow_at"];

    fn read(reader: &mut TableReader<'_, '_>) -> GoalTable {
        GoalTable {
            full_cover: reader.number("full_cover", "95.0"),
            open_by: reader.date("open_by"),
            mow_at: reader.number("mow_at", "70.0"),
        }
    }
}

/// `[weather]`.
pub(super) struct WeatherTable {
    pub(super) file: Field<String>,
    pub(super) base_c: Field<f64>,
    pub(super) ceiling_c: Field<f64>,
    pub(super) normals: NormalsTable,
}

impl Table for WeatherTable {
    const HEADING: &'static str = "[weather]";
    const KEYS: &'static [&'static str] = &["file", "base_c", "ceiling_c", "normals"];

    fn read(reader: &mut TableReader<'_, '_>) -> WeatherTable {
        WeatherTable {
            file: reader.text("file"),
            base_c: reader.number("base_c", "10.0"),
            ceiling_c: reader.number("ceiling_c", "32.0"),
            normals: reader.table("normals"),
        }
    }
}

/// `[weather.normals]`.
pub(super) struct NormalsTable {
    pub(super) tmin_c: Field<[f64; 12]>,
    pub(super) tmax_c: Field<[f64; 12]>,
}

impl Table for NormalsTable {
    const HEADING: &'static str = "[weather.normals]";
    const KEYS: &'static [&'static str] = &["tmin_c", "tmax_c"];

    fn read(reader: &mut TableReader<'_, '_>) -> NormalsTable {
        NormalsTable {
            tmin_c: reader.numbers(
                "tmin_c",
                "[-2, -1, 3, 7, 12, 17, 19, 19, 15, 8, 3, -1]: one a month",
            ),
            tmax_c: reader.numbers(
                "tmax_c",
                "[9, 11, 16, 21, 26, 30, 32, 31, 27, 22, 16, 11]: one a month",
            ),
        }
    }
}

/// `[season]`.
pub(super) struct SeasonTable {
    pub(super) growth_ends: Field<String>,
    pub(super) first_freeze: FirstFreezeTable,
}

impl Table for SeasonTable {
    const HEADING: &'static str = "[season]";
    const KEYS: &'static [&'static str] = &["growth_ends", "first_freeze"];

    fn read(reader: &mut TableReader<'_, '_>) -> SeasonTable {
        SeasonTable {
            growth_ends: reader.date("growth_ends"),
            first_freeze: reader.table("first_freeze"),
        }
    }
}

/// `[season.first_freeze]`.
pub(super) struct FirstFreezeTable {
    pub(super) early: Field<String>,
    pub(super) usual: Field<String>,
    pub(super) late: Field<String>,
}

impl Table for FirstFreezeTable {
    const HEADING: &'static str = "[season.first_freeze]";
    const KEYS: &'static [&'static str] = &["early", "usual", "late"];

    fn read(reader: &mut TableReader<'_, '_>) -> FirstFreezeTable {
        FirstFreezeTable {
            early: reader.date("early"),
            usual: reader.date("usual"),
            late: reader.date("late"),
        }
    }
}

/// `[money]`.
pub(super) struct MoneyTable {
    pub(super) currency: Field<String>,
    pub(super) sprig_cost: Field<String>,
    pub(super) day_closed: Field<f64>,
    pub(super) closed_since: Field<String>,
    pub(super) greens_area: Field<String>,
}

impl Table for MoneyTable {
    const HEADING: &'static str = "[money]";
    const KEYS: &'static [&'static str] = &[
        "currency",
        "sprig_cost",
        "day_closed",
        "closed_since",
        "greens_area",
    ];

    fn read(reader: &mut TableReader<'_, '_>) -> MoneyTable {
        MoneyTable {
            currency: reader.text("currency"),
            sprig_cost: reader.quantity("sprig_cost", "per bu"),
            day_closed: reader.number("day_closed", "6500.0"),
            closed_since: reader.date("closed_since"),
            greens_area: reader.quantity("greens_area", "ft2"),
        }
    }
}

/// One `[[green]]`.
pub(super) struct GreenTable {
    pub(super) heading: Span,
    pub(super) id: Field<String>,
    pub(super) name: Field<String>,
    pub(super) planted: Field<String>,
    pub(super) species: Field<String>,
    pub(super) sprig_rate: Field<String>,
    pub(super) area: Field<String>,
    pub(super) block: Field<String>,
    pub(super) main_plot: Field<String>,
    pub(super) factors: Vec<(Spanned<String>, Spanned<String>)>,
}

impl Table for GreenTable {
    const HEADING: &'static str = "[[green]]";
    const KEYS: &'static [&'static str] = &[
        "id",
        "name",
        "planted",
        "species",
        "sprig_rate",
        "area",
        "block",
        "main_plot",
        "factors",
    ];

    fn read(reader: &mut TableReader<'_, '_>) -> GreenTable {
        GreenTable {
            heading: reader.span(),
            id: reader.text("id"),
            name: reader.text("name"),
            planted: reader.date("planted"),
            species: reader.text("species"),
            sprig_rate: reader.quantity("sprig_rate", "bu/ac"),
            area: reader.quantity("area", "ft2"),
            block: reader.label("block"),
            main_plot: reader.label("main_plot"),
            factors: reader.levels("factors"),
        }
    }
}

/// One `[[station]]`.
pub(super) struct StationTable {
    pub(super) heading: Span,
    pub(super) id: Field<String>,
    pub(super) green: Field<String>,
    pub(super) crop: Field<[f64; 4]>,
}

impl Table for StationTable {
    const HEADING: &'static str = "[[station]]";
    const KEYS: &'static [&'static str] = &["id", "green", "crop"];

    fn read(reader: &mut TableReader<'_, '_>) -> StationTable {
        StationTable {
            heading: reader.span(),
            id: reader.text("id"),
            green: reader.text("green"),
            crop: reader.numbers("crop", "[0.1, 0.1, 0.9, 0.9]"),
        }
    }
}
