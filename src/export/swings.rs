//! Swings with their fits, for programs.

use serde_json::{Value, json};

use crate::{
    export::{features::north, rounded, schema::FindingTwin},
    finding::Finding,
    north::TrueBearing,
    observe::{Level, LevelUnit, Swing, SwingPoint},
    solve::swing::SwingFit,
    units::Angle,
};

/// Name and version of the schema of [`swings_json`].
pub const SWINGS_SCHEMA: &str = "azimark-swings/1";

/// Swings with their fits as JSON. `fits` are in the order of `swings`; `bearings` are those brought to true north, found
/// by the swing's identifier and origin.
///
/// Members: `schema`, `version`, `swings`, `findings` (as in the answer's schema). Of each swing: `id`, `origin`, `stand`,
/// `lat_deg`, `lon_deg`, `north`; of its direction `read_deg`, `true_deg`, `sigma_deg`, `sigma_by_levels_deg`, `two_way`,
/// `share`, all null where there is none; `front_to_back_db` and `front_to_back_sigma_db`, `beamwidth_deg` and
/// `beamwidth_sigma_deg`, null where the levels do not tell them; `pattern` and `pattern_shares`; `peaks` and `nulls` with
/// `heading_deg` and `level_dbm`; `log_evidence_over_flat`, `log_evidence_two_over_one` (natural logarithms);
/// `residual_db`; and the raw levels as `points` with `heading_deg`, `level_dbm`, `state` (`measured`, `below_floor`,
/// `off_air`), `written` and `written_unit`, `attenuator_db`, `line`.
pub fn swings_json(
    swings: &[Swing],
    fits: &[SwingFit],
    bearings: &[TrueBearing],
    findings: &[Finding],
) -> String {
    let all: Vec<Value> = swings.iter().zip(fits).map(|(s, f)| swing(s, f, bearings)).collect();
    let findings: Vec<FindingTwin> = findings.iter().map(FindingTwin::of).collect();
    let body = json!({
        "schema": SWINGS_SCHEMA,
        "version": env!("CARGO_PKG_VERSION"),
        "swings": all,
        "findings": findings,
    });
    format!("{body:#}\n")
}

fn degrees(angle: Angle) -> Value {
    rounded(angle.to_degrees(), 2)
}

fn swing(swing: &Swing, fit: &SwingFit, bearings: &[TrueBearing]) -> Value {
    let direction = fit.direction.as_ref();
    let azimuth = bearings
        .iter()
        .find(|b| b.read().id == swing.id && b.read().origin == swing.origin())
        .map(TrueBearing::azimuth);
    let top =
        |heading: Angle, level: f64| json!({"heading_deg": degrees(heading), "level_dbm": rounded(level, 1)});
    let shares: serde_json::Map<String, Value> =
        fit.families.iter().map(|(family, share)| (family.word().to_owned(), rounded(*share, 3))).collect();
    json!({
        "id": swing.id,
        "origin": swing.origin().to_string(),
        "stand": swing.stand.name,
        "lat_deg": rounded(swing.stand.at.lat_degrees(), 7),
        "lon_deg": rounded(swing.stand.at.lon_degrees(), 7),
        "north": north(swing.north),
        "read_deg": direction.map(|d| degrees(d.bearing)),
        "true_deg": azimuth.map(degrees),
        "sigma_deg": direction.map(|d| rounded(d.sigma.to_degrees(), 2)),
        "sigma_by_levels_deg": direction.map(|d| rounded(d.by_levels.to_degrees(), 2)),
        "two_way": direction.map(|d| d.two_way),
        "share": direction.map(|d| rounded(d.share, 3)),
        "front_to_back_db": fit.front_to_back.map(|f| rounded(f.ratio.value(), 1)),
        "front_to_back_sigma_db": fit.front_to_back.map(|f| rounded(f.sigma.to_db(), 1)),
        "beamwidth_deg": fit.beamwidth.map(|b| degrees(b.0)),
        "beamwidth_sigma_deg": fit.beamwidth.map(|b| rounded(b.1.to_degrees(), 1)),
        "pattern": fit.pattern.map(|p| p.family().word()),
        "pattern_shares": shares,
        "peaks": fit.peaks.iter().map(|p| top(p.heading, p.level.value())).collect::<Vec<_>>(),
        "nulls": fit.nulls.iter().map(|n| top(n.heading, n.level.value())).collect::<Vec<_>>(),
        "log_evidence_over_flat": rounded(fit.over_flat, 2),
        "log_evidence_two_over_one": fit.two_over_one.map(|b| rounded(b, 2)),
        "residual_db": rounded(fit.residual.value(), 2),
        "points": swing.points.iter().map(point).collect::<Vec<_>>(),
    })
}

fn point(point: &SwingPoint) -> Value {
    let reading = &point.reading;
    let (state, level) = match reading.level {
        Level::Measured(l) => ("measured", Some(l)),
        Level::BelowFloor(l) => ("below_floor", Some(l)),
        Level::OffAir => ("off_air", None),
    };
    let unit = reading.raw.map(|r| match r.unit {
        LevelUnit::Dbm => "dBm",
        LevelUnit::Microvolt(_) => "dBµV",
        LevelUnit::MicrovoltPerMetre => "dBµV/m",
    });
    json!({
        "heading_deg": degrees(point.heading),
        "level_dbm": level.map(|l| rounded(l.value(), 2)),
        "state": state,
        "written": reading.raw.map(|r| rounded(r.value, 3)),
        "written_unit": unit,
        "attenuator_db": reading.attenuator.map(|a| rounded(a.value(), 1)),
        "line": reading.written.line,
    })
}
