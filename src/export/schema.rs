//! The answer for programs.

use serde::Serialize;
use serde_json::{Value, json};

use crate::{
    export::{
        features::north,
        outline::{self, Coordinates},
        readings, rounded,
    },
    finding::Finding,
    geodesy::Place,
    north::{TrueBearing, TrueSector},
    region::{NotDetermined, Region, Scale},
    report::{Answer, OneOfTwo, Reflections},
    solve::{Bounce, Crossing, Drift, Judgement, Mode, OffSpot, Residual, Spot},
    units::Confidence,
};

/// Name and version of the schema.
pub const SCHEMA: &str = "azimark-answer/1";

#[doc = include_str!("SCHEMA.md")]
pub fn json(answer: &Answer) -> String {
    let twin = Twin::of(answer);
    // The twin holds strings, numbers and lists only, which always serialise.
    let mut text = serde_json::to_string_pretty(&twin).unwrap_or_default();
    text.push('\n');
    text
}

/// The same without more than `most` rows in the table of levels: an even part of them.
pub fn json_thinned(answer: &Answer, most: usize) -> String {
    let mut twin = Twin::of(answer);
    if let Some(rows) = twin.levels.get_mut("table").and_then(Value::as_array_mut) {
        let step = rows.len().div_ceil(most.max(1)).max(1);
        *rows = std::mem::take(rows).into_iter().step_by(step).take(most).collect();
    }
    let mut text = serde_json::to_string_pretty(&twin).unwrap_or_default();
    text.push('\n');
    text
}

/// The same schema where there is no place at all: `schema`, `version`, `summary`, `complete` (false) and `findings`.
pub fn json_without(summary: &str, findings: &[Finding]) -> String {
    let findings: Vec<FindingTwin> = findings.iter().map(FindingTwin::of).collect();
    let body = json!({
        "schema": SCHEMA,
        "version": env!("CARGO_PKG_VERSION"),
        "summary": summary,
        "complete": false,
        "findings": findings,
    });
    format!("{body:#}\n")
}

#[derive(Serialize)]
struct Twin<'a> {
    schema: &'static str,
    version: &'static str,
    summary: String,
    complete: bool,
    places: Vec<PlaceTwin>,
    mean: Value,
    quoted: Value,
    regions: Vec<RegionTwin>,
    ellipse: Value,
    bearings: Vec<BearingTwin<'a>>,
    agreement: Value,
    shared_error: Value,
    levels: Value,
    sectors: Vec<Value>,
    kinds: Value,
    two_places: Value,
    drift: Value,
    stands: Vec<Value>,
    crossings: Vec<Value>,
    reflections: Value,
    north_audit: Vec<Value>,
    assumed: Vec<String>,
    findings: Vec<FindingTwin<'a>>,
    cautions: Vec<Value>,
}

#[derive(Serialize)]
struct PlaceTwin {
    lat_deg: Value,
    lon_deg: Value,
    share: Value,
    nearest_stand_m: Value,
    covariance_m2: Option<[Value; 3]>,
}

#[derive(Serialize)]
struct RegionTwin {
    confidence: f64,
    area_m2: Value,
    polygons: Option<Vec<Vec<Vec<Coordinates>>>>,
    open_toward_deg: Value,
}

#[derive(Serialize)]
struct BearingTwin<'a> {
    id: &'a str,
    origin: String,
    team: Option<&'a str>,
    time_utc: Option<String>,
    stand: &'a str,
    lat_deg: Value,
    lon_deg: Value,
    read_deg: Value,
    north: &'static str,
    correction_deg: Value,
    true_deg: Value,
    computed_deg: Value,
    miss_deg: Value,
    sigma_deg: Value,
    range_m: Value,
    verdict: &'static str,
    probability_direct: Value,
    probability_reversed: Value,
    probability_foreign: Value,
    shift_without_m: Value,
    remarks: &'a str,
}

#[derive(Serialize)]
pub(super) struct FindingTwin<'a> {
    severity: &'static str,
    code: &'static str,
    message: &'a str,
    hint: Option<&'a str>,
    file: Option<&'a str>,
    line: Option<u64>,
    column: Option<u64>,
    field: Option<&'a str>,
    value: Option<&'a str>,
}

impl<'a> Twin<'a> {
    fn of(answer: &'a Answer) -> Self {
        let (a, record) = (&answer.record.agreement, &answer.record);
        let (mean, quoted) = (answer.fit.mean(), answer.fit.quoted());
        Self {
            schema: SCHEMA,
            version: env!("CARGO_PKG_VERSION"),
            summary: answer.summary(),
            complete: answer.complete(),
            places: answer.fit.modes().iter().map(PlaceTwin::of).collect(),
            mean: json!({ "lat_deg": lat(mean), "lon_deg": lon(mean) }),
            quoted: json!({ "lat_deg": lat(quoted), "lon_deg": lon(quoted) }),
            regions: answer.regions.iter().map(RegionTwin::of).collect(),
            ellipse: ellipse(answer),
            bearings: answer
                .bearings
                .iter()
                .zip(&record.residuals)
                .map(|(b, r)| BearingTwin::of(b, r))
                .collect(),
            agreement: json!({
                "chi_square": rounded(a.chi_square, 4),
                "freedom": a.freedom,
                "p": rounded(a.p, 4),
                "judgement": judgement(a.judgement),
            }),
            shared_error: record.shared.map_or(Value::Null, |s| {
                json!({
                    "estimate_deg": rounded(s.estimate.to_degrees(), 3),
                    "prior_sigma_deg": rounded(s.prior.to_degrees(), 3),
                })
            }),
            levels: levels(answer),
            sectors: answer.sectors.iter().map(sector).collect(),
            kinds: kinds(answer),
            two_places: two_places(answer),
            drift: answer.drift.as_ref().map_or(Value::Null, drift),
            stands: answer.spots.iter().map(|s| spot(answer, s)).collect(),
            crossings: answer.crossings.iter().map(|c| crossing(answer, c)).collect(),
            reflections: answer.reflections.as_ref().map_or(Value::Null, |r| reflections(answer, r)),
            north_audit: answer.audit.iter().map(audit).collect(),
            assumed: answer.assumptions(),
            findings: answer.findings.iter().map(FindingTwin::of).collect(),
            cautions: answer
                .cautions
                .iter()
                .map(|c| json!({ "trigger": c.trigger, "text": c.text }))
                .chain(std::iter::once(json!({ "trigger": "always", "text": crate::safety::ALWAYS })))
                .collect(),
        }
    }
}

/// The law of distance with its priors, and every level against its distance.
fn levels(answer: &Answer) -> Value {
    let Some(law) = answer.law else { return Value::Null };
    let priors = &answer.fit.options().levels;
    let left: serde_json::Map<String, Value> =
        answer.levels.left_out.iter().map(|(why, n)| (why.code().to_owned(), Value::from(*n))).collect();
    json!({
        "readings": law.readings,
        "below_floor": law.below,
        "cells": law.cells,
        "effective": rounded(law.effective, 2),
        "left_out": left,
        "start_dbm": rounded(law.start.0.value(), 3),
        "start_sigma_db": rounded(law.start.1.value(), 3),
        "start_prior_dbm": [priors.start.0, priors.start.1],
        "exponent": rounded(law.exponent.0, 4),
        "exponent_sigma": rounded(law.exponent.1, 4),
        "exponent_prior": [law.exponent_prior.0, law.exponent_prior.1],
        "exponent_strained": law.strained(),
        "correlation_start_exponent": rounded(law.correlation, 3),
        "shadowing_db": rounded(law.shadowing.value(), 3),
        "decorrelation_m": rounded(law.decorrelation.value(), 2),
        "own_share": rounded(law.own, 3),
        "likelihood_power": rounded(law.power, 3),
        "regular": rounded(law.regular, 3),
        "table": answer.against().iter().map(readings::row).collect::<Vec<_>>(),
    })
}

fn sector(sector: &TrueSector) -> Value {
    let s = sector.sector();
    json!({
        "id": s.id,
        "site": s.site,
        "origin": s.origin().to_string(),
        "lat_deg": lat(s.at),
        "lon_deg": lon(s.at),
        "azimuth_true_deg": sector.axis().map_or(Value::Null, |(a, _)| rounded(a.compass().to_degrees(), 2)),
        "interference_dbm": s.interference.measured().map_or(Value::Null, |l| rounded(l.value(), 2)),
    })
}

/// Two places, where they explain the bearings better than one.
fn two_places(answer: &Answer) -> Value {
    let Some(two) = &answer.two else { return Value::Null };
    let place = |one: &OneOfTwo| {
        json!({
            "lat_deg": lat(one.place),
            "lon_deg": lon(one.place),
            "region_95": RegionTwin::of(&one.region),
            "bearings": one.bearings,
        })
    };
    json!({
        "places": two.places.iter().map(place).collect::<Vec<_>>(),
        "log_evidence_gain": rounded(two.factor.ln(), 4),
        "bearings_of_neither": two.neither,
        "taken_at_once": two.at_once,
    })
}

/// An emitter that moves.
fn drift(drift: &Drift) -> Value {
    json!({
        "lat_deg": lat(drift.place),
        "lon_deg": lon(drift.place),
        "covariance_m2": drift.covariance.map(|v| rounded(v, 2)),
        "time_utc": drift.at.to_string(),
        "velocity_east_north_m_s": drift.velocity.map(|v| rounded(v, 5)),
        "velocity_covariance_m2_s2": drift.velocity_covariance.map(|v| rounded(v, 9)),
        "log_evidence_gain": rounded(drift.gain, 4),
    })
}

/// A stand with several bearings.
fn spot(answer: &Answer, spot: &Spot) -> Value {
    json!({
        "bearings": spot.bearings.iter().map(|i| answer.bearings[*i].read().id.clone()).collect::<Vec<_>>(),
        "off_deg": rounded(spot.off.to_degrees(), 3),
        "sigma_deg": rounded(spot.sigma.to_degrees(), 3),
        "judged": match spot.judged {
            OffSpot::Off => "off",
            OffSpot::Right => "right",
            OffSpot::Untold => "cannot_tell",
        },
    })
}

/// Two bearings of one minute that meet.
fn crossing(answer: &Answer, crossing: &Crossing) -> Value {
    json!({
        "bearings": crossing.bearings.map(|i| answer.bearings[i].read().id.clone()),
        "lat_deg": lat(crossing.place),
        "lon_deg": lon(crossing.place),
    })
}

/// Bearings that a façade of the map explains.
fn reflections(answer: &Answer, reflections: &Reflections) -> Value {
    let id = |i: &usize| answer.bearings[*i].read().id.clone();
    let bounce = |b: &Bounce| {
        json!({
            "bearing": id(&b.bearing),
            "facade": b.facade.name,
            "lat_deg": lat(b.point),
            "lon_deg": lon(b.point),
            "miss_deg": rounded(b.miss.to_degrees(), 4),
            "probability": rounded(b.probability, 4),
            "probability_this_facade": rounded(b.of_this, 4),
        })
    };
    let counted = reflections.found.fit.as_ref().zip(reflections.region.as_ref()).map(|(fit, region)| {
        let quoted = fit.quoted();
        json!({ "lat_deg": lat(quoted), "lon_deg": lon(quoted), "region_95": RegionTwin::of(region) })
    });
    json!({
        "explained": reflections.found.bounces.iter().map(bounce).collect::<Vec<_>>(),
        "unexplained": reflections.found.unexplained.iter().map(id).collect::<Vec<_>>(),
        "counted": counted,
    })
}

/// Each kind alone, and the probability that they mean one place.
fn kinds(answer: &Answer) -> Value {
    let alone = answer.alone.iter().map(|a| {
        json!({
            "kind": a.kind.word(),
            "lat_deg": lat(a.place),
            "lon_deg": lon(a.place),
            "area_95_m2": a.area.map_or(Value::Null, |v| rounded(v.value(), 1)),
            "apart_m": rounded(a.apart.value(), 1),
        })
    });
    json!({
        "alone": alone.collect::<Vec<_>>(),
        "p": answer.kinds_p.map_or(Value::Null, |p| rounded(p, 5)),
        "conflict": answer.conflict(),
    })
}

fn audit(tried: &crate::solve::NorthHypothesis) -> Value {
    json!({
        "hypothesis": tried.kind.words(),
        "log_evidence_gain": rounded(tried.gain, 2),
        "shift_m": tried.shift.map_or(Value::Null, |m| rounded(m.value(), 0)),
        "favoured": tried.favoured(),
    })
}

fn lat(place: Place) -> Value {
    rounded(place.lat_degrees(), 7)
}

fn lon(place: Place) -> Value {
    rounded(place.lon_degrees(), 7)
}

const fn judgement(judgement: Judgement) -> &'static str {
    match judgement {
        Judgement::TooFew => "too few",
        Judgement::Unstated => "errors not stated",
        Judgement::OverConfident => "over-confident",
        Judgement::UnderConfident => "under-confident",
        Judgement::Consistent => "consistent",
    }
}

fn ellipse(answer: &Answer) -> Value {
    let Some(one) = answer.ellipse else { return Value::Null };
    let wide = one.widened(Confidence::P95, answer.scale);
    json!({
        "semi_major_m": rounded(one.semi_major.value(), 2),
        "semi_minor_m": rounded(one.semi_minor.value(), 2),
        "azimuth_deg": rounded(one.azimuth.to_degrees(), 2),
        "semi_major_95_m": rounded(wide.semi_major.value(), 2),
        "semi_minor_95_m": rounded(wide.semi_minor.value(), 2),
        "scale": if answer.scale == Scale::Known { "known" } else { "estimated" },
        "circular_error_m": rounded(one.circular_error(Confidence::P50).value(), 2),
    })
}

impl PlaceTwin {
    fn of(mode: &Mode) -> Self {
        Self {
            lat_deg: lat(mode.place),
            lon_deg: lon(mode.place),
            share: rounded(mode.share, 4),
            nearest_stand_m: rounded(mode.nearest_stand.value(), 1),
            covariance_m2: mode.covariance.map(|c| c.map(|v| rounded(v, 3))),
        }
    }
}

impl RegionTwin {
    fn of(region: &Result<Region, NotDetermined>) -> Self {
        match region {
            Ok(r) => Self {
                confidence: r.confidence().value(),
                area_m2: rounded(r.area().value(), 1),
                polygons: Some(
                    r.parts().iter().flat_map(|p| outline::polygons(&p.outer(), &p.holes())).collect(),
                ),
                open_toward_deg: Value::Null,
            },
            Err(open) => Self {
                confidence: open.confidence.value(),
                area_m2: Value::Null,
                polygons: None,
                open_toward_deg: rounded(open.along.to_degrees(), 1),
            },
        }
    }
}

impl<'a> BearingTwin<'a> {
    fn of(bearing: &'a TrueBearing, r: &Residual) -> Self {
        let read = bearing.read();
        Self {
            id: &read.id,
            origin: read.origin.to_string(),
            team: read.team.as_deref(),
            time_utc: read.time.as_ref().map(ToString::to_string),
            stand: &read.stand.name,
            lat_deg: lat(read.stand.at),
            lon_deg: lon(read.stand.at),
            read_deg: rounded(read.read.to_degrees(), 4),
            north: north(read.north),
            correction_deg: rounded(bearing.correction().to_degrees(), 4),
            true_deg: rounded(bearing.azimuth().to_degrees(), 4),
            computed_deg: rounded(r.computed.to_degrees(), 4),
            miss_deg: rounded(r.miss.to_degrees(), 4),
            sigma_deg: rounded(r.sigma.to_degrees(), 4),
            range_m: rounded(r.range.value(), 1),
            verdict: r.verdict.word(),
            probability_direct: rounded(r.direct, 4),
            probability_reversed: rounded(r.reversed, 4),
            probability_foreign: rounded(r.foreign, 4),
            shift_without_m: r.shift_without.map_or(Value::Null, |m| rounded(m.value(), 1)),
            remarks: &read.remarks,
        }
    }
}

impl<'a> FindingTwin<'a> {
    pub(super) fn of(finding: &'a Finding) -> Self {
        let origin = finding.origin.as_ref();
        Self {
            severity: finding.severity.word(),
            code: finding.code,
            message: &finding.message,
            hint: finding.hint.as_deref(),
            file: origin.map(|o| o.file.as_str()),
            line: origin.and_then(|o| o.line),
            column: origin.and_then(|o| o.column),
            field: origin.and_then(|o| o.field.as_deref()),
            value: origin.and_then(|o| o.value.as_deref()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The documentation of the schema names every member that is written, and no other.
    #[test]
    fn the_schema_is_documented_member_by_member() {
        let rows: Vec<&str> = include_str!("SCHEMA.md")
            .lines()
            .filter_map(|l| l.strip_prefix("| `"))
            .filter_map(|l| l.split('`').next())
            .collect();
        let answer = crate::export::drawing::tests::small_answer();
        let value: Value = serde_json::from_str(&json(&answer)).unwrap();
        let members: Vec<&str> = value.as_object().unwrap().keys().map(String::as_str).collect();
        assert_eq!(members, rows);
        let text = include_str!("SCHEMA.md");
        for key in value["bearings"][0].as_object().unwrap().keys() {
            assert!(text.contains(&format!("`{key}`")), "{key} is not documented");
        }
    }
}
