//! What `azimark when` found, in sentences.

use jiff::{Timestamp, tz::TimeZone};

use crate::{
    activity::{Activity, ClockChange, Follows, Pattern, Series, Switched, Verdict, Window},
    report::count,
};

const DAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

/// More windows are in the JSON.
const MOST_WINDOWS: usize = 7;

/// Sentences in a zone's time.
pub struct Words<'a> {
    /// The zone.
    pub tz: &'a TimeZone,
    /// Its name.
    pub zone: &'a str,
}

impl Words<'_> {
    /// Whether there is a pattern, and how often it is on.
    pub fn headline(&self, activity: &Activity, windows: &[Window]) -> String {
        let often = format!("it was on {} of the observed time", percent(activity.duty));
        match activity.pattern {
            Pattern::Established(p) if windows.is_empty() => {
                format!(
                    "Its hours repeat from day to day (p {}), but none of the next seven days' is likely; {often}.",
                    chance(p)
                )
            }
            Pattern::Established(p) => {
                format!(
                    "Its hours repeat from day to day (p {}); {often}. Likely on next ({} time):",
                    chance(p),
                    self.zone
                )
            }
            Pattern::AsByChance(p) => format!(
                "Pattern not established: its hours differ from day to day as chance would have it (p {}); {often}. Log two weeks.",
                chance(p)
            ),
            Pattern::TooShort(days) => format!(
                "Pattern not established: the log has {days:.1} days, and less than three tell nothing about the next; {often}. \
                 Log two weeks."
            ),
        }
    }

    /// The same of the log alone, which stays true.
    pub fn past(&self, activity: &Activity) -> String {
        match activity.pattern {
            Pattern::Established(p) => format!(
                "Its hours repeat from day to day (p {}); it was on {} of the observed time.",
                chance(p),
                percent(activity.duty)
            ),
            _ => self.headline(activity, &[]),
        }
    }

    /// The next windows.
    pub fn next(&self, windows: &[Window]) -> Vec<String> {
        let line = |w: &Window| {
            let chance = 5.0 * (20.0 * w.chance).round();
            format!("{} to {}: {chance:.0} chances in 100 at any moment", self.at(w.from), self.clock(w.to))
        };
        windows.iter().take(MOST_WINDOWS).map(line).collect()
    }

    /// Figures and what they rest on.
    pub fn details(&self, series: &Series, activity: &Activity) -> Vec<String> {
        let mut out = vec![String::new()];
        let levels = &activity.levels;
        out.push(format!(
            "Log: {} from {} to {}, one every {}.",
            count(series.samples().len(), "value", "values"),
            self.at(series.samples()[0].at),
            self.at(series.end()),
            duration(series.step())
        ));
        out.push(format!(
            "Rule: off is {:.1} dB, on is {:.1} dB; on from {:.1} dB upward, off again below {:.1} dB.",
            levels.off, levels.on, levels.rises_above, levels.falls_below
        ));
        if series.step() >= 300.0 {
            out.push("Values are taken for averages of power: one between off and on tells the share of its interval.".to_owned());
        }
        out.extend(self.spells(activity));
        let o = &activity.occupancy;
        out.push(format!(
            "Occupancy: {} of the samples ({} of {}), 95 %: {} to {}; neighbours are alike, so that they are worth {:.0} \
             independent samples.",
            percent(o.share),
            o.occupied,
            o.samples,
            percent(o.interval.0),
            percent(o.interval.1),
            o.effective
        ));
        if !o.enough() {
            let needed =
                if o.needed.is_finite() { format!("about {:.0}", o.needed) } else { "many more".to_owned() };
            out.push(format!(
                "For ± a tenth of that figure it takes {needed} samples so close together: too few yet."
            ));
        }
        if o.misses_short_ones() {
            out.push("The shortest spell is hardly longer than the time between samples: shorter ones go unseen, and the true number is greater.".to_owned());
        }
        out.push(self.clocks(activity.clock_change.as_ref()));
        out
    }

    fn spells(&self, activity: &Activity) -> Option<String> {
        let last = activity.spells.last()?;
        let whole: Vec<f64> =
            activity.spells.iter().filter(|s| s.begins && s.ends).map(|s| s.length()).collect();
        let mut sorted = whole.clone();
        sorted.sort_by(f64::total_cmp);
        let usual = sorted
            .get(sorted.len() / 2)
            .map_or(String::new(), |m| format!(", half of them longer than {}", duration(*m)));
        let end = if last.ends {
            format!("to {}", self.clock(last.to))
        } else {
            "and on when the log ends".to_owned()
        };
        Some(format!(
            "{} of activity{usual}; the last from {} {end}.",
            count(activity.spells.len(), "spell", "spells"),
            self.at(last.from)
        ))
    }

    fn clocks(&self, change: Option<&ClockChange>) -> String {
        let Some(change) = change else {
            return "The clocks did not change during the log: whether it follows the local clock or the sun cannot be told.".to_owned();
        };
        let days = format!(
            "{} after the clocks changed on {} agree with the local clock, {} with the clock as it was",
            count(change.days_local, "day", "days"),
            self.tz.to_datetime(change.at).date(),
            change.days_utc
        );
        match change.follows {
            Follows::LocalClock => format!(
                "It follows the local clock: run by people, or by a timer they set ({days}; p {}).",
                chance(change.p)
            ),
            Follows::Utc => {
                format!("It follows UTC or the sun, not the local clock ({days}; p {}).", chance(change.p))
            }
            Follows::NotEnough => format!(
                "Not enough to tell whether it follows the local clock or the sun ({days}; p {}).",
                chance(change.p)
            ),
        }
    }

    /// The test by switching.
    pub fn switched(&self, test: &Switched) -> Vec<String> {
        let p = test.p.map_or("no probability: the log is too short".to_owned(), |p| {
            format!("p {} from {} other times of the log", chance(p), test.shifts)
        });
        let numbers = format!(
            "{} of {} matched, r {:.2}, {p}, level {} the switch",
            test.matched,
            count(test.changes, "change", "changes"),
            test.r,
            match test.lag {
                l if l > 0.0 => format!("{} after", duration(l)),
                l if l < 0.0 => format!("{} before", duration(-l)),
                _ => "together with".to_owned(),
            }
        );
        let answer = match test.verdict {
            Verdict::Follows => {
                "The victim's level follows the switch: what is switched disturbs this receiver"
            }
            Verdict::CoincidenceNotExcluded => {
                "The level went with the switch, but coincidence is not excluded"
            }
            Verdict::DoesNotFollow => "The level does not follow the switch",
            Verdict::Unclear => "The level partly goes with the switch: not enough to tell",
        };
        let mut out = vec![format!("{answer} ({numbers}).")];
        match test.verdict {
            Verdict::CoincidenceNotExcluded => out.push("Switch off, on, off, on, at times that nobody could foresee, and leave each for a minute or more, within a log of hours.".to_owned()),
            Verdict::Unclear => out.push("Are both clocks right? Is there a second emitter? Repeat the test with longer states.".to_owned()),
            _ => {}
        }
        let rest = test.off - test.quiet;
        if rest >= 3.0 && matches!(test.verdict, Verdict::Follows | Verdict::CoincidenceNotExcluded) {
            out.push(format!("While it was off the level stayed {rest:.0} dB above the log's quietest twentieth: look for a second emitter."));
        }
        out
    }

    /// `Mon 2026-03-16 08:00`.
    fn at(&self, at: Timestamp) -> String {
        let local = self.tz.to_datetime(at);
        let day = DAYS[usize::from(local.weekday().to_monday_zero_offset().unsigned_abs()) % 7];
        format!("{} {} {}", &day[..3], local.date(), self.clock(at))
    }

    /// `08:00`.
    fn clock(&self, at: Timestamp) -> String {
        // To the nearest minute.
        let local = self
            .tz
            .to_datetime(Timestamp::from_second((at.as_second() + 30).div_euclid(60) * 60).unwrap_or(at));
        format!("{:02}:{:02}", local.hour(), local.minute())
    }
}

fn percent(share: f64) -> String {
    if share > 0.0 && share < 0.1 {
        format!("{:.1} %", 100.0 * share)
    } else {
        format!("{:.0} %", 100.0 * share)
    }
}

fn chance(p: f64) -> String {
    if p < 0.01 { format!("{p:.4}") } else { format!("{p:.2}") }
}

fn duration(seconds: f64) -> String {
    match seconds {
        s if s < 120.0 => format!("{s:.0} s"),
        s if s < 7_200.0 => format!("{:.0} min", s / 60.0),
        s => format!("{:.1} h", s / 3_600.0),
    }
}
