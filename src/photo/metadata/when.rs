//! When a photo was taken: the most trusted of what the file tells, on the course's clock; and what its name tells.
//!
//! Within the file in this order:
//!
//! 1. EXIF DateTimeOriginal, with OffsetTimeOriginal, else OffsetTimeDigitized, else OffsetTime: the instant is
//!    known, and brought into the course's zone.
//! 2. EXIF DateTimeOriginal without an offset: the camera's clock is taken to show the course's time.
//! 3. The same of DateTimeDigitized, which cameras write with the same value, then of the date in the XMP packet
//!    (exif:DateTimeOriginal, photoshop:DateCreated), which editors keep when they drop the rest.
//! 4. GPS date and time, in UTC.
//!
//! EXIF DateTime is never used: programs write it anew whenever they save, and a wrong date that nobody notices
//! bends a curve, while a photo that is set aside for want of a date only needs a new name. The same goes for
//! the file's modification time, which [`Taken::from_file_time`] gives to those who ask.

use ::exif::{Exif, Tag};
use jiff::Timestamp;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::{Offset, TimeZone};

use super::xmp::Xmp;
use super::{Taken, TakenFrom, exif, name_date};
use crate::photo::PhotoName;

/// When the photo was taken, by what is inside its file.
pub(super) fn taken(exif: Option<&Exif>, xmp: &Xmp, zone: &TimeZone) -> Option<Taken> {
    let by_tag = |tag: Tag, offsets: &[Tag]| {
        let exif = exif?;
        let written = Written::parse(&exif::text(exif, tag)?)?;
        let offset = offsets
            .iter()
            .find_map(|tag| parse_offset(&exif::text(exif, *tag)?));
        Some(written.or_offset(offset).on_clock_of(zone))
    };
    by_tag(
        Tag::DateTimeOriginal,
        &[
            Tag::OffsetTimeOriginal,
            Tag::OffsetTimeDigitized,
            Tag::OffsetTime,
        ],
    )
    .or_else(|| {
        by_tag(
            Tag::DateTimeDigitized,
            &[Tag::OffsetTimeDigitized, Tag::OffsetTime],
        )
    })
    .or_else(|| Some(Written::parse(xmp.taken.as_deref()?)?.on_clock_of(zone)))
    .or_else(|| Some(Taken::at(gps_time(exif?)?, TakenFrom::Gps, zone)))
}

impl Taken {
    /// An instant on the course's clock.
    fn at(instant: Timestamp, from: TakenFrom, zone: &TimeZone) -> Taken {
        let local = zone.to_datetime(instant);
        Taken {
            date: local.date(),
            time: Some(local.time()),
            instant: Some(instant),
            from,
        }
    }

    /// The time at which the file was last written, for those who ask for it: copying or editing changes it.
    pub fn from_file_time(modified: Timestamp, zone: &TimeZone) -> Taken {
        Taken::at(modified, TakenFrom::FileTime, zone)
    }

    /// The date in the name of the file alone, whatever folders it lies in.
    pub fn from_file_name(name: &PhotoName, zone: &TimeZone) -> Option<Taken> {
        Taken::from_name(&PhotoName(name.file_name().to_owned()), zone)
    }

    /// The date in a name, or in the names of the folders above it.
    pub fn from_name(name: &PhotoName, zone: &TimeZone) -> Option<Taken> {
        let found = name_date::date_in_name(name)?;
        let local = Taken {
            date: found.date,
            time: found.time,
            instant: None,
            from: TakenFrom::FileName,
        };
        let instant = found
            .time
            .filter(|_| found.is_utc)
            .and_then(|time| Offset::UTC.to_timestamp(found.date.to_datetime(time)).ok());
        Some(instant.map_or(local, |instant| {
            Taken::at(instant, TakenFrom::FileName, zone)
        }))
    }
}

/// A date as a camera writes it; what is blank is absent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Written {
    date: Date,
    time: Option<Time>,
    offset: Option<Offset>,
}

impl Written {
    /// Parses `2027:06:14 10:15:30` (EXIF 2.32, 4.6.5) and what programs make of it: other separators, `T`,
    /// fractions of a second, an offset behind.
    fn parse(text: &str) -> Option<Written> {
        let text = text.trim();
        let part = |from: usize, to: usize| text.get(from..to)?.parse::<i16>().ok();
        let bytes = text.as_bytes();
        let separator = bytes.get(4)?;
        if !b":-/.".contains(separator) || bytes.get(7) != Some(separator) {
            return None;
        }
        let small = |number: i16| i8::try_from(number).ok();
        let year = part(0, 4).filter(|year| *year > 0)?;
        let date = Date::new(year, small(part(5, 7)?)?, small(part(8, 10)?)?).ok()?;
        let time = || {
            // A leap second is the one before it.
            let second = part(17, 19).unwrap_or(0).min(59);
            Time::new(
                small(part(11, 13)?)?,
                small(part(14, 16)?)?,
                small(second)?,
                0,
            )
            .ok()
        };
        let behind = text.get(19..).unwrap_or_default();
        let offset = behind.find(['Z', '+', '-']).map(|at| &behind[at..]);
        Some(Written {
            date,
            time: time(),
            offset: offset.and_then(parse_offset),
        })
    }

    /// With another offset where it has none itself.
    fn or_offset(self, offset: Option<Offset>) -> Written {
        Written {
            offset: self.offset.or(offset),
            ..self
        }
    }

    fn on_clock_of(self, zone: &TimeZone) -> Taken {
        let instant = self
            .time
            .zip(self.offset)
            .and_then(|(time, offset)| offset.to_timestamp(self.date.to_datetime(time)).ok());
        match instant {
            Some(instant) => Taken::at(instant, TakenFrom::CameraWithOffset, zone),
            None => Taken {
                date: self.date,
                time: self.time,
                instant: None,
                from: TakenFrom::Camera,
            },
        }
    }
}

/// `+05:30`, `-0400`, `+02`, `Z`.
fn parse_offset(text: &str) -> Option<Offset> {
    let text = text.trim();
    if text == "Z" {
        return Some(Offset::UTC);
    }
    let (sign, rest) = match text.split_at_checked(1)? {
        ("+", rest) => (1, rest),
        ("-", rest) => (-1, rest),
        _ => return None,
    };
    let hours: i32 = rest.get(..2)?.parse().ok()?;
    let minutes: i32 = match rest[2..].trim_start_matches(':') {
        "" => 0,
        minutes => minutes.get(..2)?.parse().ok()?,
    };
    // The widest in use are -12:00 and +14:00.
    (hours <= 14 && minutes < 60)
        .then(|| Offset::from_seconds(sign * (hours * 3600 + minutes * 60)).ok())?
}

/// The day of DateTime, of the last change.
pub(super) fn changed(exif: &Exif) -> Option<Date> {
    Written::parse(&exif::text(exif, Tag::DateTime)?).map(|written| written.date)
}

/// GPSDateStamp and GPSTimeStamp together.
pub(super) fn gps_time(exif: &Exif) -> Option<Timestamp> {
    let date = Written::parse(&exif::text(exif, Tag::GPSDateStamp)?)?.date;
    let [hour, minute, second] = exif::numbers(exif, Tag::GPSTimeStamp)?;
    let is_in = |value: f64, end: f64| (0.0..end).contains(&value);
    if !(is_in(hour, 24.0) && is_in(minute, 60.0) && is_in(second, 61.0)) {
        return None;
    }
    let seconds = (hour * 3600.0 + minute * 60.0 + second).floor() as i64;
    let midnight = Offset::UTC
        .to_timestamp(DateTime::from_parts(date, Time::midnight()))
        .ok()?;
    midnight
        .checked_add(jiff::SignedDuration::from_secs(seconds))
        .ok()
}

#[cfg(test)]
mod tests {
    use jiff::civil::{date, time};

    use super::*;

    #[test]
    fn dates_are_read_as_cameras_and_programs_write_them() {
        let day = date(2027, 6, 14);
        let noon = Some(time(10, 15, 30, 0));
        for (text, time, offset) in [
            ("2027:06:14 10:15:30", noon, None),
            ("2027-06-14T10:15:30", noon, None),
            ("2027/06/14 10:15:30", noon, None),
            ("2027:06:14 10:15:30.25", noon, None),
            ("2027-06-14T10:15:30.25-04:00", noon, Some(-4 * 3600)),
            ("2027-06-14T10:15:30Z", noon, Some(0)),
            (
                "2027:06:14 10:15",
                Some(jiff::civil::time(10, 15, 0, 0)),
                None,
            ),
            (
                "2027:06:14 10:15:60",
                Some(jiff::civil::time(10, 15, 59, 0)),
                None,
            ),
            ("2027:06:14", None, None),
            ("2027:06:14   :  :  ", None, None),
            ("2027:06:14 24:15:30", None, None),
        ] {
            assert_eq!(
                Written::parse(text),
                Some(Written {
                    date: day,
                    time,
                    offset: offset.map(|seconds| Offset::from_seconds(seconds).unwrap()),
                }),
                "{text}"
            );
        }
    }

    #[test]
    fn blank_and_impossible_dates_are_absent() {
        for text in [
            "",
            "0000:00:00 00:00:00",
            "0000:01:01 00:00:00",
            "    :  :     :  :  ",
            "                   ",
            "2027:13:14 10:15:30",
            "2027:02:29 10:15:30",
            "20270614",
            "2027:06-14 10:15:30",
            "14.06.2027 10:15",
            "ÄÖÜäöü:06:14",
        ] {
            assert_eq!(Written::parse(text), None, "{text}");
        }
    }

    #[test]
    fn offsets_are_read() {
        let seconds = |text| parse_offset(text).map(Offset::seconds);
        assert_eq!(seconds("-04:00"), Some(-14_400));
        assert_eq!(seconds("+05:30"), Some(19_800));
        assert_eq!(seconds("+0200"), Some(7_200));
        assert_eq!(seconds("+02"), Some(7_200));
        assert_eq!(seconds("Z"), Some(0));
        for text in ["", "   :  ", "+99:00", "+02:75", "02:00", "+é2", "+0é"] {
            assert_eq!(seconds(text), None, "{text}");
        }
    }
}
