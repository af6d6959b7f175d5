//! Activity for programs.

use serde_json::{Value, json};

use crate::{
    activity::{Activity, Follows, Pattern, Series, Switched, Verdict, Window},
    export::{rounded, schema::FindingTwin},
    finding::Finding,
};

/// Name and version of the schema of [`activity_json`].
pub const ACTIVITY_SCHEMA: &str = "azimark-activity/1";

/// What there is to write.
pub struct ActivityParts<'a> {
    /// The series that was read.
    pub series: Option<&'a Series>,
    /// What it tells; `None` where its levels do not fall into two groups.
    pub activity: Option<&'a Activity>,
    /// IANA name of the zone of the hours.
    pub zone: &'a str,
    /// When it is likely on next; empty without a pattern.
    pub windows: &'a [Window],
    /// The test by switching, where there was one.
    pub switched: Option<&'a Switched>,
    /// What there is to tell.
    pub findings: &'a [Finding],
}

/// Activity as JSON. Times are RFC 3339 in UTC.
///
/// Members: `schema`, `version`, `receiver`, `zone`, `from`, `to`, `days`, `step_s`; `levels` with `off_db`, `on_db`,
/// `rises_above_db`, `falls_below_db`; `duty`; `occupancy` with `samples`, `occupied`, `share`, `low`, `high` (95 %),
/// `effective_samples`, `needed_samples` (null: no number is enough), `revisit_s`; `spells` with `from`, `to`, `begins`, `ends`;
/// `week`, rows from Monday of 24 hours with `share` (null where not observed), `days`, `chance`; `pattern` with `verdict`
/// (`established`, `as_by_chance`, `too_short`) and `p`; `clock_change` with `at`, `forward_s`, `days_local`, `days_utc`, `p`,
/// `follows` (`local_clock`, `utc`, `not_enough`); `windows` with `from`, `to`, `chance`; `switched` with `verdict` (`follows`,
/// `coincidence_not_excluded`, `does_not_follow`, `unclear`), `changes`, `matched`, `lag_s`, `r`, `p`, `shifts`, `samples`,
/// `on_db`, `off_db`, `quiet_db`; `findings`. What was not asked or cannot be told is null.
pub fn activity_json(parts: &ActivityParts) -> String {
    let found = parts.activity;
    let findings: Vec<FindingTwin> = parts.findings.iter().map(FindingTwin::of).collect();
    let window = |w: &Window| json!({"from": w.from.to_string(), "to": w.to.to_string(), "chance": rounded(w.chance, 3)});
    let body = json!({
        "schema": ACTIVITY_SCHEMA,
        "version": env!("CARGO_PKG_VERSION"),
        "receiver": parts.series.and_then(Series::receiver),
        "zone": parts.zone,
        "from": parts.series.map(|s| s.samples()[0].at.to_string()),
        "to": parts.series.map(|s| s.end().to_string()),
        "days": parts.series.map(|s| rounded(s.days(), 3)),
        "step_s": parts.series.map(|s| rounded(s.step(), 3)),
        "levels": found.map(|a| json!({
            "off_db": rounded(a.levels.off, 2),
            "on_db": rounded(a.levels.on, 2),
            "rises_above_db": rounded(a.levels.rises_above, 2),
            "falls_below_db": rounded(a.levels.falls_below, 2),
        })),
        "duty": found.map(|a| rounded(a.duty, 4)),
        "occupancy": found.map(occupancy),
        "spells": found.map(|a| a.spells.iter().map(|s| json!({
            "from": s.from.to_string(), "to": s.to.to_string(), "begins": s.begins, "ends": s.ends,
        })).collect::<Vec<_>>()),
        "week": found.map(week),
        "pattern": found.map(|a| pattern(a.pattern)),
        "clock_change": found.and_then(|a| a.clock_change).map(|c| json!({
            "at": c.at.to_string(),
            "forward_s": c.forward,
            "days_local": c.days_local,
            "days_utc": c.days_utc,
            "p": rounded(c.p, 5),
            "follows": match c.follows {
                Follows::LocalClock => "local_clock",
                Follows::Utc => "utc",
                Follows::NotEnough => "not_enough",
            },
        })),
        "windows": parts.windows.iter().map(window).collect::<Vec<_>>(),
        "switched": parts.switched.map(switched),
        "findings": findings,
    });
    format!("{body:#}\n")
}

fn occupancy(activity: &Activity) -> Value {
    let o = &activity.occupancy;
    json!({
        "samples": o.samples,
        "occupied": o.occupied,
        "share": rounded(o.share, 4),
        "low": rounded(o.interval.0, 4),
        "high": rounded(o.interval.1, 4),
        "effective_samples": rounded(o.effective, 1),
        "needed_samples": rounded(o.needed, 0),
        "revisit_s": rounded(o.revisit, 3),
    })
}

fn week(activity: &Activity) -> Vec<Value> {
    let hour = |day: usize, hour: usize| {
        let cell = activity.week.cells()[day][hour];
        json!({
            "share": cell.share().map(|s| rounded(s, 3)),
            "days": cell.days,
            "chance": activity.week.chance(day, hour).map(|c| rounded(c, 3)),
        })
    };
    (0..7).map(|day| (0..24).map(|h| hour(day, h)).collect()).collect()
}

fn pattern(pattern: Pattern) -> Value {
    match pattern {
        Pattern::TooShort(_) => json!({"verdict": "too_short", "p": null}),
        Pattern::AsByChance(p) => json!({"verdict": "as_by_chance", "p": rounded(p, 4)}),
        Pattern::Established(p) => json!({"verdict": "established", "p": rounded(p, 4)}),
    }
}

fn switched(test: &Switched) -> Value {
    json!({
        "verdict": match test.verdict {
            Verdict::Follows => "follows",
            Verdict::CoincidenceNotExcluded => "coincidence_not_excluded",
            Verdict::DoesNotFollow => "does_not_follow",
            Verdict::Unclear => "unclear",
        },
        "changes": test.changes,
        "matched": test.matched,
        "lag_s": rounded(test.lag, 3),
        "r": rounded(test.r, 4),
        "p": test.p.map(|p| rounded(p, 5)),
        "shifts": test.shifts,
        "samples": test.samples,
        "on_db": rounded(test.on, 2),
        "off_db": rounded(test.off, 2),
        "quiet_db": rounded(test.quiet, 2),
    })
}
