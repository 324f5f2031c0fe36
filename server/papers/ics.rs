//! A calendar as other programs read it: RFC 5545 (iCalendar), whole-day events only, lines folded at
//! 75 octets. Which days there are is the page's affair.

use std::fmt::Write as _;

use time::{Date, OffsetDateTime};

/// An event of whole days.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// Stays the same however often the calendar is read.
    pub uid: String,
    /// The first day.
    pub first: Date,
    /// The last day, which still belongs to it.
    pub last: Date,
    /// What stands in the calendar.
    pub summary: String,
    /// More of it.
    pub description: String,
    /// Where to read on.
    pub url: Option<String>,
}

/// Writes a calendar.
pub fn written(name: &str, events: &[Event], now: OffsetDateTime) -> String {
    let mut text = String::new();
    let stamp = stamp(now);
    for line in [
        "BEGIN:VCALENDAR".to_owned(),
        "VERSION:2.0".to_owned(),
        "PRODID:-//Gaugewright//Plant days//EN".to_owned(),
        "CALSCALE:GREGORIAN".to_owned(),
        "METHOD:PUBLISH".to_owned(),
        // RFC 7986; the second is what older programs read.
        format!("NAME:{}", escaped(name)),
        format!("X-WR-CALNAME:{}", escaped(name)),
        "REFRESH-INTERVAL;VALUE=DURATION:PT6H".to_owned(),
    ] {
        fold(&mut text, &line);
    }
    for event in events {
        let after = event.last.next_day().unwrap_or(event.last);
        let mut lines = vec![
            "BEGIN:VEVENT".to_owned(),
            format!("UID:{}", escaped(&event.uid)),
            format!("DTSTAMP:{stamp}"),
            format!("DTSTART;VALUE=DATE:{}", basic(event.first)),
            // The end of whole days is the day after (RFC 5545, 3.6.1).
            format!("DTEND;VALUE=DATE:{}", basic(after)),
            format!("SUMMARY:{}", escaped(&event.summary)),
            "TRANSP:TRANSPARENT".to_owned(),
        ];
        if !event.description.is_empty() {
            lines.push(format!("DESCRIPTION:{}", escaped(&event.description)));
        }
        if let Some(url) = &event.url {
            lines.push(format!("URL:{url}"));
        }
        lines.push("END:VEVENT".to_owned());
        for line in lines {
            fold(&mut text, &line);
        }
    }
    fold(&mut text, "END:VCALENDAR");
    text
}

/// A day in the basic form of ISO 8601.
fn basic(day: Date) -> String {
    day.to_string().replace('-', "")
}

fn stamp(now: OffsetDateTime) -> String {
    let now = now.to_offset(time::UtcOffset::UTC);
    format!(
        "{}T{:02}{:02}{:02}Z",
        basic(now.date()),
        now.hour(),
        now.minute(),
        now.second()
    )
}

/// Text as a value (RFC 5545, 3.3.11).
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' => out.push_str("\\\\"),
            ';' => out.push_str("\\;"),
            ',' => out.push_str("\\,"),
            '\n' => out.push_str("\\n"),
            '\r' => {}
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// Adds a line, folded so that none is longer than 75 octets and no character is cut (3.1).
fn fold(text: &mut String, line: &str) {
    let mut room = 75;
    for c in line.chars() {
        if c.len_utf8() > room {
            text.push_str("\r\n ");
            room = 74;
        }
        let _ = write!(text, "{c}");
        room -= c.len_utf8();
    }
    text.push_str("\r\n");
}
