//! A case as JSON, in and out: what the page in the hand asks of the solver, and gets. The same request gives the same reply
//! natively and in a browser.

mod conditions;
mod page;
mod request;
mod teams;

use serde_json::{Value, json};

use crate::{
    export,
    geodesy::Place,
    ingest::Kind,
    inquiry::{self, Document, Kept, Manner, Seen, Stated},
    plan::{self, Search, Setup},
    radio::LevelPrior,
    report::{self, Answer},
    solve::Options,
    streets::Streets,
};

pub use conditions::Conditions;
pub use page::{PLACEHOLDER, base64, filled};
pub use request::{File, Request, Seat, kind_word};

/// Name and version of requests and replies.
pub const SCHEMA: &str = "azimark-live/1";

/// Name and version of the data in a page.
pub const PAGE_SCHEMA: &str = "azimark-map/2";

/// Name of the table of bearings that a page makes and exports.
pub const NOTES: &str = "bearings.csv";

/// Name of the table of levels that are entered on a page.
pub const LEVELS: &str = "levels_here.csv";

/// More readings are not drawn: an even part of them is. All of them are computed with.
pub const MOST_DRAWN: usize = 3000;

/// Stands that the advice proposes.
const STANDS: usize = 5;

/// Requests about one case, one after another: logs of levels and what they say of places are kept between them, for a new bearing
/// does not change them. Each reply is the same as on its own.
#[derive(Debug, Default)]
pub struct Session {
    kept: Kept,
}

impl Session {
    /// As [`reply`].
    pub fn reply(&self, request: &str) -> String {
        match serde_json::from_str::<Request>(request) {
            Ok(request) => self.answered(&request),
            Err(error) => failed(&format!("The request is not understood: {error}")),
        }
    }

    /// As [`answered`].
    pub fn answered(&self, request: &Request) -> String {
        match prepared(&self.kept, request) {
            Ok((seen, stated, prior)) => {
                let manner = Manner { first: request.first, memory: Some(&self.kept.memory) };
                match inquiry::answer_in(&manner, seen, &stated, prior.as_ref(), Options::default()) {
                    Ok(answer) => found(request, &answer),
                    Err(none) => without(&none),
                }
            }
            Err(why) => failed(&why),
        }
    }
}

/// Answers a request in JSON by a reply in JSON.
///
/// The reply holds `schema`; `text`, the answer in words; `answer`, as [`export::json`] writes it; `map`, as
/// [`export::geojson`] does; `quoted`, the place quoted with all digits (`lat_deg`, `lon_deg`), or null without a place;
/// `first`, whether it is the first answer, whose checks are still to come; `advice` and `advice_text` where the request asks where to
/// stand next; `division` ([`export::division`], or an `error`) and
/// `division_text` where it names teams. Of more than [`MOST_DRAWN`] levels `map` holds an even part. A request that is not understood gives `error`, a
/// sentence, instead.
pub fn reply(request: &str) -> String {
    Session::default().reply(request)
}

fn failed(why: &str) -> String {
    json!({ "schema": SCHEMA, "error": why }).to_string()
}

/// The reply to a request.
pub fn answered(request: &Request) -> String {
    Session::default().answered(request)
}

/// What was seen, what is stated, and what a kind of place sets.
fn prepared(kept: &Kept, request: &Request) -> Result<(Seen, Stated, Option<LevelPrior>), String> {
    let stated = request.conditions.stated()?;
    let bytes: Vec<(Kind, &str, Vec<u8>)> =
        request.files.iter().filter_map(|f| Some((f.kind()?, f.name.as_str(), f.bytes()))).collect();
    let meant = |kind: Kind| !request.bearings_only || matches!(kind, Kind::Bearings | Kind::Swings);
    let documents: Vec<Document> = bytes
        .iter()
        .filter(|(kind, ..)| meant(*kind))
        .map(|(kind, name, bytes)| Document { kind: *kind, name, bytes })
        .collect();
    let monitor = request.monitor.as_ref().filter(|_| !request.bearings_only).map(|f| (&f.name, f.bytes()));
    let monitor =
        monitor.as_ref().map(|(name, bytes)| Document { kind: Kind::Levels, name, bytes: bytes.as_slice() });
    let seen = inquiry::seen_in(kept, &documents, monitor, &stated);
    let prior = match stated.environment {
        Some(environment) => match seen.prior(environment, stated.frequency) {
            Some(prior) => Some(prior),
            None => return Err("The kind of place is stated, and no frequency is known.".to_owned()),
        },
        None => None,
    };
    Ok((seen, stated, prior))
}

fn found(request: &Request, answer: &Answer) -> String {
    let quoted = answer.fit.quoted();
    let quoted = json!({ "lat_deg": quoted.lat_degrees(), "lon_deg": quoted.lon_degrees() });
    let advice = if request.advice { Some(advised(request, answer)) } else { None };
    let or_null = |part: Option<(String, String)>| {
        part.map_or((Value::Null.to_string(), Value::Null), |(json, text)| (json, Value::from(text)))
    };
    let division = (!request.teams.is_empty()).then(|| teams::divided(request, answer));
    let most = if request.briefly { 0 } else { MOST_DRAWN };
    let text = if request.first { report::wrapped(&answer.summary(), "", "") } else { answer.to_string() };
    written(
        (&quoted, request.first),
        &text,
        (&export::json_thinned(answer, most), &export::geojson_thinned(answer, most)),
        &or_null(advice),
        &or_null(division),
    )
}

fn without(none: &inquiry::NoPlace) -> String {
    let text = report::wrapped(&none.why, "", "");
    let (answer, map) =
        (export::json_without(&none.why, &none.findings), export::geojson_without(&none.why, &none.findings));
    let nothing = ("null".to_owned(), Value::Null);
    written((&Value::Null, false), &text, (&answer, &map), &nothing, &nothing)
}

/// The texts of `export` are JSON already.
fn written(
    (quoted, first): (&Value, bool),
    text: &str,
    (answer, map): (&str, &str),
    (advice, advice_text): &(String, Value),
    (division, division_text): &(String, Value),
) -> String {
    format!(
        "{{\"schema\":\"{SCHEMA}\",\n\"first\":{first},\n\"quoted\":{quoted},\n\"text\":{},\n\"advice_text\":{advice_text},\n\"division_text\":{division_text},\n\"answer\":{answer},\"map\":{map},\"advice\":{advice},\"division\":{division}}}\n",
        Value::from(text),
    )
}

/// Where to stand next: as JSON and in words.
fn advised(request: &Request, answer: &Answer) -> (String, String) {
    let streets = request.town.as_ref().map(|f| Streets::read(&f.name, &f.bytes()).0);
    let streets = streets.filter(|s| !s.edges().is_empty());
    let stated = request.from.and_then(|[lat, lon]| Place::from_lat_lon_degrees(lat, lon));
    let last = answer.bearings.last().map(|b| b.read().stand.at);
    let from = stated.or(last).unwrap_or_else(|| answer.fit.centre());
    let setup = Setup { from, streets: streets.as_ref(), search: Search::default(), most: STANDS };
    let mut advice = plan::next(&answer.fit, &answer.bearings, &setup);
    if stated.is_none() {
        advice.from_last_stand();
    }
    (export::advice_json(&advice), report::advice(&advice))
}

#[cfg(test)]
mod tests {
    use super::*;

    const BEARINGS: &str = include_str!("../../fixtures/demo/bearings.csv");
    const LOG: &str = include_str!("../../fixtures/demo/walk_log.csv");
    const TRACK: &str = include_str!("../../fixtures/demo/walk.gpx");

    /// The demo with the first minutes of its walk, and `more` bearings.
    fn asked(first: bool, more: usize) -> Request {
        let log: Vec<&str> = LOG.lines().take(120).collect();
        let mut bearings = BEARINGS.to_owned();
        for i in 0..more {
            bearings += &format!("N{i},Z,2026-03-17T18:40:00Z,,46.95{i},-118.3513,,,,,268,true,,B,,,,,,,\n");
        }
        let file = |name: &str, kind: &str, text: &str| File::new(name, kind, text.as_bytes());
        let files = vec![
            file("bearings.csv", "bearings", &bearings),
            file("walk_log.csv", "levels", &log.join("\n")),
            file("walk.gpx", "track", TRACK),
        ];
        Request { files, first, ..Request::default() }
    }

    fn told(reply: &str) -> Value {
        serde_json::from_str(reply).unwrap()
    }

    #[test]
    fn a_session_says_what_single_requests_say() {
        let session = Session::default();
        for more in 0..3 {
            let request = asked(true, more);
            assert_eq!(session.answered(&request), answered(&request));
        }
    }

    #[test]
    fn a_brief_answer_is_the_same_without_its_levels_one_by_one() {
        let session = Session::default();
        let long = told(&session.answered(&asked(true, 1)));
        let mut brief = told(&session.answered(&Request { briefly: true, ..asked(true, 1) }));
        let reading = |f: &Value| f["properties"]["kind"] == "reading";
        let all = long["map"]["features"].as_array().unwrap();
        let others: Vec<&Value> = all.iter().filter(|f| !reading(f)).collect();
        assert!(others.len() + 50 < all.len());
        assert_eq!(brief["map"]["features"].as_array().unwrap().iter().collect::<Vec<_>>(), others);
        assert_eq!(brief["answer"]["levels"]["table"], json!([]));
        brief["answer"]["levels"]["table"] = long["answer"]["levels"]["table"].clone();
        assert_eq!(brief["answer"], long["answer"]);
    }

    #[test]
    fn the_first_answer_has_the_places_of_the_whole_one_and_says_what_is_still_to_come() {
        let session = Session::default();
        let [first, whole] = [true, false].map(|first| told(&session.answered(&asked(first, 1))));
        assert_eq!(first["quoted"], whole["quoted"]);
        for part in ["places", "regions", "levels"] {
            assert_eq!(first["answer"][part], whole["answer"][part], "{part}");
        }
        assert_eq!([&first["first"], &whole["first"]], [&Value::from(true), &Value::from(false)]);
        let summary = |v: &Value| v["answer"]["summary"].as_str().unwrap().to_owned();
        assert!(summary(&first).contains("Not checked yet"));
        assert!(!summary(&whole).contains("Not checked yet"));
    }
}
