//! Before and after, for programs.

use serde_json::{Value, json};

use crate::{
    activity::{Closure, ClosureVerdict, NotComparable, Part, Reference, Residual},
    case::Agreed,
    export::{rounded, schema::FindingTwin},
    finding::Finding,
    numeric::correlated::CorrelatedMean,
};

/// Name and version of the schema of [`closure_json`].
pub const CLOSURE_SCHEMA: &str = "azimark-closure/1";

/// What there is to write.
pub struct ClosureParts<'a> {
    /// When it was put right, RFC 3339 in UTC.
    pub corrected: &'a str,
    /// IANA name of the zone of the hours.
    pub zone: &'a str,
    /// The receiver looked at, where it has a name.
    pub receiver: Option<&'a str>,
    /// The comparison, or why there is none.
    pub closure: Result<&'a Closure, Option<&'a NotComparable>>,
    /// The same in sentences.
    pub summary: &'a [String],
    /// Other receivers in the files, with their names.
    pub others: &'a [(String, Closure)],
    /// Who agreed.
    pub agreed: &'a [Agreed],
    /// What there is to tell.
    pub findings: &'a [Finding],
}

/// The comparison as JSON. Times are RFC 3339 in UTC, levels in decibels of the log's unit, hours of the week count from Monday 00:00
/// by the clock of `zone`, intervals hold 95 %.
///
/// Members: `schema`, `version`, `corrected`, `zone`, `receiver`, `summary` (sentences), `verdict` (`quieter`, `louder`, `not_told`,
/// `quiet_hours_only`; null where nothing is compared), `refused` (`nothing_before`, `nothing_after`, `too_few_hours`, `no_scatter`, or
/// null), `missing_hours`, `log_until`; `change` with `db`, `low_db`, `high_db`, `standard_error_db`, `effective_hours`,
/// `correlation`; `before_db`, `after_db`, `before` and `after` with `from`, `to`; `hours`, `needed_hours`; `while_on` with `hours` and
/// `change`; `residual` with `reference` (`clean_log`, `stated`, `off_times`), `reference_db`, `hours`, `rise`; `others` with `receiver`,
/// `verdict`, `change`; `agreed` with `who`, `when`, `remark`; `findings`.
pub fn closure_json(parts: &ClosureParts) -> String {
    let found = parts.closure.ok();
    let refused = parts.closure.err().flatten();
    let findings: Vec<FindingTwin> = parts.findings.iter().map(FindingTwin::of).collect();
    let (missing, until) = match refused {
        Some(NotComparable::TooFewHours { missing, enough_at, .. }) => (Some(missing), *enough_at),
        _ => (found.map(|c| &c.missing), found.and_then(|c| c.whole_at)),
    };
    let body = json!({
        "schema": CLOSURE_SCHEMA,
        "version": env!("CARGO_PKG_VERSION"),
        "corrected": parts.corrected,
        "zone": parts.zone,
        "receiver": parts.receiver,
        "summary": parts.summary,
        "verdict": found.map(|c| verdict(c.verdict)),
        "refused": refused.map(reason),
        "missing_hours": missing,
        "log_until": until.map(|t| t.to_string()),
        "change": found.map(|c| change(&c.change)),
        "before_db": found.map(|c| rounded(c.before, 2)),
        "after_db": found.map(|c| rounded(c.after, 2)),
        "before": found.map(|c| json!({"from": c.before_span.0.to_string(), "to": c.before_span.1.to_string()})),
        "after": found.map(|c| json!({"from": c.after_span.0.to_string(), "to": c.after_span.1.to_string()})),
        "hours": found.map(|c| &c.hours),
        "needed_hours": found.and_then(|c| match c.verdict {
            ClosureVerdict::NotTold { needed } => needed.map(|n| rounded(n.ceil(), 0)),
            _ => None,
        }),
        "while_on": found.and_then(|c| c.while_on).map(|p: Part| json!({"hours": p.hours, "change": change(&p.change)})),
        "residual": found.and_then(|c| c.residual).map(|r| residual(&r)),
        "others": parts.others.iter().map(|(name, c)| json!({
            "receiver": name, "verdict": verdict(c.verdict), "change": change(&c.change),
        })).collect::<Vec<_>>(),
        "agreed": parts.agreed,
        "findings": findings,
    });
    format!("{body:#}\n")
}

const fn verdict(verdict: ClosureVerdict) -> &'static str {
    match verdict {
        ClosureVerdict::Quieter => "quieter",
        ClosureVerdict::Louder => "louder",
        ClosureVerdict::NotTold { .. } => "not_told",
        ClosureVerdict::QuietHoursOnly => "quiet_hours_only",
    }
}

const fn reason(why: &NotComparable) -> &'static str {
    match why {
        NotComparable::NothingBefore => "nothing_before",
        NotComparable::NothingAfter => "nothing_after",
        NotComparable::TooFewHours { .. } => "too_few_hours",
        NotComparable::NoScatter => "no_scatter",
    }
}

fn change(change: &CorrelatedMean) -> Value {
    let (low, high) = change.interval();
    json!({
        "db": rounded(change.mean, 3),
        "low_db": rounded(low, 3),
        "high_db": rounded(high, 3),
        "standard_error_db": rounded(change.error, 4),
        "effective_hours": rounded(change.effective, 1),
        "correlation": rounded(change.neighbours, 3),
    })
}

fn residual(r: &Residual) -> Value {
    let reference = match r.reference {
        Reference::Clean => "clean_log",
        Reference::Stated => "stated",
        Reference::OffTimes => "off_times",
    };
    json!({"reference": reference, "reference_db": rounded(r.level, 2), "hours": r.hours, "rise": change(&r.rise)})
}
