//! GPX 1.1 (topografix.com/GPX/1/1): points of tracks, routes, and waypoints, with their times.

use std::sync::Arc;

use quick_xml::{
    Reader, XmlVersion,
    events::{BytesStart, Event},
};

use crate::{
    finding::{Finding, Origin, clipped},
    geodesy::Place,
    ingest::{
        level_once::Rows,
        log::Log,
        track::{
            attributes::place,
            room,
            xsd::{LONGEST, number, part, timestamp},
        },
    },
    observe::{Fix, FixKind, FixQuality, Written},
};

/// A point that is being read.
struct Point {
    line: u64,
    at: Option<Place>,
    texts: [String; PARTS.len()],
}

/// Elements of a point that are read.
const PARTS: [&str; 4] = ["time", "hdop", "sat", "fix"];

struct Gpx<'t> {
    name: &'t str,
    file: Arc<str>,
    point: Option<Point>,
    /// The element of the point that is being read, and how deep within the point.
    part: Option<usize>,
    depth: usize,
    stretch: u32,
    root: bool,
    untimed: Rows,
    void: Rows,
    zoneless: Rows,
    fixes: Vec<Fix>,
}

/// Reads the points of a text, up to where it is broken.
pub fn read(name: &str, text: &str, log: &mut Log) -> Vec<Fix> {
    let mut gpx = Gpx {
        name,
        file: name.into(),
        point: None,
        part: None,
        depth: 0,
        stretch: 0,
        root: false,
        untimed: Rows::default(),
        void: Rows::default(),
        zoneless: Rows::default(),
        fixes: Vec::new(),
    };
    let mut reader = Reader::from_str(text);
    let (mut line, mut at, mut open) = (1, 0, 0usize);
    let broken = loop {
        let event = reader.read_event();
        let to = (reader.buffer_position() as usize).clamp(at, text.len());
        line += text.as_bytes()[at..to].iter().filter(|b| **b == b'\n').count() as u64;
        at = to;
        match event {
            Err(error) => break Some(error.to_string()),
            Ok(Event::Eof) => break (open > 0).then(|| "the text ends within an element".to_owned()),
            Ok(Event::Start(element)) => {
                open += 1;
                gpx.start(&element, line, log);
            }
            Ok(Event::Empty(element)) => {
                gpx.start(&element, line, log);
                gpx.end(element.local_name().as_ref(), log);
            }
            Ok(Event::End(element)) => {
                open = open.saturating_sub(1);
                gpx.end(element.local_name().as_ref(), log);
            }
            Ok(Event::Text(text)) => gpx.text(&text.xml_content(XmlVersion::Implicit1_0)),
            // A character written as a reference: no number or time needs one, and it must not be passed over.
            Ok(Event::GeneralRef(_) | Event::CData(_)) => gpx.text("\u{fffd}"),
            Ok(Event::DocType(_)) => {
                let message = "GPX has no document type definition: it is passed over, and what it defines is not resolved";
                log.tell_row(Finding::assumed("xml-dtd", message).at(Origin::line(name, line)));
            }
            Ok(_) => {}
        }
        if !room(name, gpx.fixes.len(), line, log) {
            break None;
        }
    };
    if let Some(why) = broken {
        let message =
            format!("this is no well-formed XML: {}; from here on the file is not read", clipped(&why));
        let hint = "was the file cut off? export the track again";
        log.tell(Finding::refused("xml-broken", message).at(Origin::line(name, line)).hint(hint));
    }
    gpx.finish(log);
    gpx.fixes
}

impl Gpx<'_> {
    fn start(&mut self, element: &BytesStart, line: u64, log: &mut Log) {
        let name = element.local_name();
        let name: &str = name.as_ref();
        if self.point.is_some() {
            self.depth += 1;
            // Extensions may use the same names deeper down.
            self.part = (self.depth == 1).then(|| PARTS.iter().position(|p| *p == name)).flatten();
            return;
        }
        match name {
            "gpx" => self.root = true,
            // Between two segments the receiver had no fix (GPX 1.1, trksegType); routes and waypoints are no walk.
            "trkseg" | "rte" => self.stretch += 1,
            "trkpt" | "rtept" | "wpt" => {
                self.stretch += u32::from(name == "wpt");
                let at = place(element, &self.origin(line), log);
                self.point = Some(Point { line, at, texts: Default::default() });
                self.depth = 0;
            }
            _ => {}
        }
    }

    fn origin(&self, line: u64) -> Origin {
        Origin::line(self.name, line)
    }

    fn text(&mut self, text: &str) {
        if let (Some(point), Some(part)) = (&mut self.point, self.part) {
            let target = &mut point.texts[part];
            // One character more than is allowed is enough to refuse it.
            target.extend(text.chars().take((LONGEST + 1).saturating_sub(target.len())));
        }
    }

    fn end(&mut self, name: &str, log: &mut Log) {
        if self.depth > 0 {
            self.depth -= 1;
            self.part = None;
        } else if let Some(point) = self.point.take_if(|_| matches!(name, "trkpt" | "rtept" | "wpt")) {
            self.take(point, log);
        }
    }

    fn take(&mut self, point: Point, log: &mut Log) {
        let Some(at) = point.at else { return };
        let [time, hdop, satellites, fix] = point.texts.each_ref().map(|t| t.trim());
        if time.is_empty() {
            self.untimed.add(point.line);
            return;
        }
        let mut refused = false;
        let mut refuse = |part: usize, text: &str| {
            let at = Origin {
                field: Some(PARTS[part].to_owned()),
                value: Some(clipped(text)),
                ..Origin::line(self.name, point.line)
            };
            let message = "this is not what GPX 1.1 has here";
            log.tell_row(Finding::refused("gpx-value", message).at(at).hint("the point is not used"));
            refused = true;
        };
        let utc = timestamp(time);
        if utc.is_none() {
            refuse(0, time);
        }
        let quality = FixQuality {
            hdop: part(hdop, |t| number(t).filter(|v| *v > 0.0)).unwrap_or_else(|| {
                refuse(1, hdop);
                None
            }),
            satellites: part(satellites, |t| t.parse().ok()).unwrap_or_else(|| {
                refuse(2, satellites);
                None
            }),
            kind: part(fix, FixKind::of_word).unwrap_or_else(|| {
                refuse(3, fix);
                None
            }),
        };
        let Some((time, zoneless)) = utc.filter(|_| !refused) else { return };
        if zoneless {
            self.zoneless.add(point.line);
        }
        if quality.kind == Some(FixKind::NoFix) {
            self.stretch += 1;
            self.void.add(point.line);
            return;
        }
        let written = Written { file: self.file.clone(), line: point.line };
        self.fixes.push(Fix { time, at, quality, stretch: self.stretch, written });
    }

    fn finish(&self, log: &mut Log) {
        let file = || Origin::file(self.name);
        if let Some((count, first)) = self.untimed.some() {
            let message = format!("{count} point(s) have no time and are not used");
            let hint = "export the track with its times";
            log.tell(Finding::refused("time-missing", message).at(self.origin(first)).hint(hint));
        }
        if let Some((count, first)) = self.void.some() {
            let message = format!("{count} point(s) without a fix (fix none): nothing is placed across them");
            log.tell(Finding::assumed("track-without-fix", message).at(self.origin(first)));
        }
        if let Some((count, first)) = self.zoneless.some() {
            let message = format!("{count} time(s) without a zone are UTC, as GPX 1.1 says");
            log.tell(Finding::assumed("gpx-utc", message).at(self.origin(first)));
        }
        if !self.root {
            let hint = "a track is GPX 1.1, or NMEA 0183 with sentences RMC or GGA";
            log.tell(Finding::refused("not-gpx", "the file is no GPX").at(file()).hint(hint));
        } else if self.fixes.is_empty() {
            let hint = "a track has points with lat, lon and a time";
            log.tell(
                Finding::refused("empty", "the file holds no point that can be used").at(file()).hint(hint),
            );
        }
    }
}
