//! The best next stands.

use crate::{
    finding::Finding,
    geodesy::{Place, PlanePoint},
    north::TrueBearing,
    plan::{
        ahead::{Ahead, Move},
        bearing::Seen,
        belief::Belief,
        candidates::{Candidate, along, rings},
        gauss::Spread,
        levels_walk,
        pair::Pair,
        picture::Picture,
        reasons::{Cut, Geometry, Why},
        step::{Depth, Mover, fewest, moves, quarter},
    },
    region::Region,
    solve::{Fit, levels::LevelFit},
    streets::{Pace, Streets},
    units::{Angle, Confidence, Metres, Sigma, SquareMetres},
};

/// How people look for the emitter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Search {
    /// How fast they walk.
    pub pace: Pace,
    /// Minutes that a bearing takes.
    pub bearing_minutes: f64,
    /// Width of the strip that somebody who passes has searched: twice the 15 m at which an emitter is found.
    pub strip: Metres,
    /// What part of the area to search is left after a bearing that is taken while closing in.
    pub left_by_bearing: f64,
}

impl Default for Search {
    /// 4.8 km/h, 3 minutes, 30 m, a third. Common practice, no source.
    fn default() -> Self {
        let (pace, strip) = (Pace::WALKING, Metres::new(30.0));
        Self { pace, bearing_minutes: 3.0, strip, left_by_bearing: 1.0 / 3.0 }
    }
}

impl Search {
    /// Minutes to search an area.
    pub fn minutes(&self, area: f64) -> f64 {
        area / (self.strip.value() * self.pace.value())
    }

    /// Minutes with as many bearings while closing in as pay.
    fn closing_in(&self, effort: f64) -> f64 {
        let mut best = self.minutes(effort);
        let mut left = effort;
        for k in 1..=12 {
            left *= self.left_by_bearing;
            best = best.min(f64::from(k) * self.bearing_minutes + self.minutes(left));
        }
        best
    }
}

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Setup<'a> {
    /// Where the walker is.
    pub from: Place,
    /// Streets to walk; open ground without.
    pub streets: Option<&'a Streets>,
    /// How people look for the emitter.
    pub search: Search,
    /// So many stands are proposed.
    pub most: usize,
}

/// A proposed stand.
#[derive(Clone, Debug, PartialEq)]
pub struct Stand {
    /// Where.
    pub at: Candidate,
    /// Expected minutes until somebody stands at the emitter, this bearing and the way to it included: the mean of hunts played
    /// from there.
    pub total: f64,
    /// What is left to search after a bearing from there, the mean: the area of the 95 % region, or that of the region now where it is
    /// smaller. A bearing that turns out foreign can make the region larger; but nobody is sent farther by it.
    pub area: SquareMetres,
    /// The area of the 95 % region after it that one is as likely to stay below as to exceed.
    pub usual_area: SquareMetres,
    /// The area that one exceeds in one case of ten.
    pub wide_area: SquareMetres,
    /// Natural logarithm of the determinant (m⁴) of the place's covariance after it, in the linear view.
    pub log_determinant: f64,
    /// Nats that it tells of the place.
    pub told: f64,
    /// The direction to expect, from true north.
    pub toward: Angle,
    /// Distance of the middle of the posterior.
    pub range: Metres,
    /// One standard deviation to expect at that range.
    pub sigma: Sigma<Angle>,
    /// Chance that the signal is heard there; `None` where no levels tell.
    pub heard: Option<f64>,
    /// Share of the sights from there that a building stands in; `None` without buildings.
    pub blocked: Option<f64>,
    /// The cut with the best of the earlier bearings.
    pub cut: Option<Cut>,
    /// What it does.
    pub why: Why,
}

/// What to do next.
#[derive(Clone, Debug)]
pub struct Advice {
    /// Where the walker is.
    pub from: Place,
    /// Area of the 95 % region now; `None` where it is not determined.
    pub area: Option<SquareMetres>,
    /// The direction in which the region is open, from true north.
    pub open: Option<Angle>,
    /// Where to go when one goes and looks: where the posterior is highest.
    pub goal: Place,
    /// Expected minutes when one goes there now, with bearings again where that does not meet it: the mean of hunts played.
    pub look: f64,
    /// Share of these hunts that meet the emitter on the way there.
    pub look_meets: f64,
    /// Whether that beats every further bearing and meets the emitter in half of the hunts or more.
    pub enough: bool,
    /// What a bearing at the best stand is worth, and what the levels on the way there.
    pub kinds: Option<Kinds>,
    /// Where two teams go at once, where that was asked ([`crate::plan::pair()`]).
    pub pair: Option<Pair>,
    /// The best stands, the best first.
    pub stands: Vec<Stand>,
    /// How many were tried.
    pub tried: usize,
    /// What was taken for granted, and what was left out.
    pub findings: Vec<Finding>,
}

/// What two kinds of measurement tell of the place, in nats: by as much the logarithm of the area shrinks on the average.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kinds {
    /// A bearing at the best stand.
    pub bearing: f64,
    /// Minutes for it, the walk included.
    pub bearing_minutes: f64,
    /// Levels along the way there, by the plain law of distance with its power and exponent unknown: at least.
    pub levels: f64,
    /// Minutes of that walk.
    pub levels_minutes: f64,
}

impl Kinds {
    /// Whether levels tell more a minute than the bearing.
    pub fn levels_pay(&self) -> bool {
        self.levels * self.bearing_minutes > self.bearing * self.levels_minutes
    }
}

impl Advice {
    /// Says that the walker was taken to be at the last stand.
    pub fn from_last_stand(&mut self) {
        let message = "you are taken to be at the last stand";
        self.findings
            .push(Finding::assumed("from-last-stand", message).hint("say where you are: --from LAT,LON"));
    }
}

/// So many stands are looked at closely, and so many of them are played.
const CLOSELY: usize = 36;
const SHORT: usize = 10;

/// One goes and looks where that meets the emitter at least so often.
const MEETS: f64 = 0.5;

/// So many equal shares of what a bearing may read.
const SHARES: usize = 24;

/// Nearer than this to an earlier stand a bearing tells little that is new: it sees the same reflections.
const SAME_STAND_M: f64 = 30.0;

/// The best next stands for a fit; `bearings` must be those of its problem.
pub fn next(fit: &Fit, bearings: &[TrueBearing], setup: &Setup) -> Advice {
    Planner::new(fit, bearings, setup).advice()
}

struct Planner<'a> {
    setup: &'a Setup<'a>,
    fit: &'a Fit,
    /// The fine belief with the buildings.
    picture: Picture,
    coarse: Belief,
    /// Points of the 95 % set of the coarse belief.
    inside: Vec<usize>,
    spread: Spread,
    geometry: Geometry,
    region: Option<SquareMetres>,
    law: Option<LevelFit>,
    detour: f64,
}

impl<'a> Planner<'a> {
    fn new(fit: &'a Fit, bearings: &'a [TrueBearing], setup: &'a Setup<'a>) -> Self {
        let (picture, coarse) = Picture::with_coarse(fit, bearings, setup.streets);
        let inside = coarse.inside(Confidence::P95);
        let (goal, spread) = coarse.spread(&inside);
        let region = Region::of(fit, Confidence::P95);
        let record = fit.record(bearings);
        let mut geometry = Geometry::new(fit, bearings, &record.residuals, goal);
        geometry.axis =
            spread.ellipse().map(|e| (e.azimuth.to_radians(), e.semi_major.value() / e.semi_minor.value()));
        geometry.open = region.as_ref().err().map(|e| e.along);
        Self {
            setup,
            fit,
            inside,
            spread,
            geometry,
            region: region.ok().map(|r| r.area()),
            law: fit.law(),
            detour: if setup.streets.is_some() { DETOUR } else { 1.0 },
            picture,
            coarse,
        }
    }

    fn fine(&self) -> &Belief {
        &self.picture.belief
    }

    fn advice(&self) -> Advice {
        let mut findings = Vec::new();
        let candidates = self.candidates(&mut findings);
        let (search, streets) = (&self.setup.search, self.setup.streets);
        let plays = Depth::ADVICE.plays;
        let ahead = Ahead::new(self.fine(), search, self.picture.streets, 4 * plays);
        let mover = Mover::new(&self.picture, &ahead, self.setup.from, streets, search.pace);
        let shortlist = self.shortlist(&candidates);
        let tried = self.tried(&mover, &ahead, &candidates, &shortlist);
        let stands = self.proposed(&ahead, &tried, &candidates);
        let kinds = stands.first().map(|s| self.kinds(s, &mover));
        // Going to the likeliest place, which usually meets the emitter and is as quick as any bearing, is the answer.
        let look = &tried[0];
        let minutes = mean(&ahead.minutes(look, 0..4 * plays));
        let quick = stands.iter().all(|s| minutes <= s.total + 0.5 * search.bearing_minutes);
        let enough = self.region.is_some() && quick && ahead.met(look) >= MEETS;
        Advice {
            from: self.setup.from,
            area: self.region,
            open: self.geometry.open,
            goal: self.fit.plane().to_place(look.to()),
            look: minutes,
            look_meets: ahead.met(look),
            enough,
            stands,
            kinds,
            pair: None,
            tried: candidates.len(),
            findings,
        }
    }

    /// The stands that promise most: sifted by nats, then looked at closely by what they leave to search. Where no region is
    /// determined, those that close its open direction, if there are any.
    fn shortlist(&self, candidates: &[Candidate]) -> Vec<(usize, Stand)> {
        let now = self.fine().left(&self.fine().mass, Confidence::P95);
        let closes = |c: &Candidate| matches!(self.geometry.why(c.point), Why::ClosesOpen(_));
        let needed = self.region.is_none() && candidates.iter().any(closes);
        let mut sifted: Vec<(f64, usize)> = candidates
            .iter()
            .enumerate()
            .filter(|(_, c)| !needed || closes(c))
            .map(|(i, c)| (self.rough(c, now.effort), i))
            .filter(|(score, _)| score.is_finite())
            .collect();
        sifted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let close = self.apart(sifted.into_iter().map(|s| s.1), candidates, CLOSELY);
        let mut out: Vec<(usize, Stand)> =
            close.into_iter().map(|n| (n, self.stand(&candidates[n]))).collect();
        out.sort_by(|a, b| a.1.total.total_cmp(&b.1.total));
        out.truncate(SHORT.max(self.setup.most));
        out
    }

    /// Moves worth playing: go and look at the likeliest place, the stands of the shortlist, and what somebody underway would do,
    /// unless that leaves an open direction open.
    fn tried(
        &self,
        mover: &Mover,
        ahead: &Ahead,
        candidates: &[Candidate],
        shortlist: &[(usize, Stand)],
    ) -> Vec<Move> {
        let plays = Depth::ADVICE.plays;
        let mut of_step = moves(mover, candidates, &self.setup.search, Depth::ADVICE.moves);
        let mut out = vec![of_step.remove(0)];
        let stands = shortlist.iter().map(|(n, s)| mover.going(s.at.point, true, Some(*n)));
        out.extend(stands);
        of_step.retain(|m| m.bearing && m.candidate.is_some());
        for m in out.iter_mut().skip(1).chain(&mut of_step) {
            self.muffle(m, ahead);
        }
        if self.region.is_some() {
            let numbers: Vec<usize> = (0..of_step.len()).collect();
            let minutes = |i: &usize, plays: std::ops::Range<usize>| ahead.minutes(&of_step[*i], plays);
            let best = fewest(numbers, quarter(of_step.len()), plays, &minutes);
            out.extend(best.first().map(|(_, i)| of_step[*i].clone()));
        }
        out
    }

    /// A bearing that is not heard tells as little as a foreign one.
    fn muffle(&self, m: &mut Move, ahead: &Ahead) {
        if self.law.is_none() || self.fit.quietest().is_none() {
            return;
        }
        let (stand, otherwise) = (m.to(), ahead.foreign());
        let share = |(i, p): (usize, &PlanePoint)| {
            let heard = self.heard_from(stand, *p).unwrap_or(1.0);
            1.0 - heard * (1.0 - m.foreign.get(i).copied().unwrap_or(otherwise))
        };
        m.foreign = ahead.points().iter().enumerate().map(share).collect();
    }

    /// The best stands by hunts played, no two of them at the same spot. What somebody underway would do is among them if it is
    /// quicker than the shortlist's best by more than the luck of so few hunts.
    fn proposed(&self, ahead: &Ahead, tried: &[Move], candidates: &[Candidate]) -> Vec<Stand> {
        let mut played: Vec<(f64, usize, Vec<f64>)> = Vec::new();
        for m in &tried[1..] {
            let Some(number) = m.candidate.filter(|n| played.iter().all(|p| p.1 != *n)) else { continue };
            let minutes = ahead.minutes(m, 0..4 * Depth::ADVICE.plays);
            played.push((mean(&minutes), number, minutes));
        }
        let underway = tried.last().and_then(|m| m.candidate).filter(|_| self.region.is_some());
        let rest = |p: &&(f64, usize, Vec<f64>)| Some(p.1) != underway;
        let best = played.iter().filter(rest).min_by(|a, b| a.0.total_cmp(&b.0)).cloned();
        if let Some(best) = best {
            played.retain(|p| Some(p.1) != underway || quicker(&p.2, &best.2));
        }
        played.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Of stands that luck alone may tell apart the one that leaves least to do by its formula is the first.
        let told = played.first().map(|p| p.2.clone()).unwrap_or_default();
        let alike = (0..played.len()).filter(|i| !quicker(&told, &played[*i].2));
        let formula: Vec<(f64, usize)> =
            alike.map(|i| (self.stand(&candidates[played[i].1]).total, i)).collect();
        if let Some((_, i)) = formula.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)) {
            let first = played.remove(i);
            played.insert(0, first);
        }
        let numbers = self.apart(played.iter().map(|p| p.1), candidates, self.setup.most);
        let minutes = |number: usize| played.iter().find(|p| p.1 == number).map_or(f64::NAN, |p| p.0);
        numbers.into_iter().map(|n| Stand { total: minutes(n), ..self.stand(&candidates[n]) }).collect()
    }

    /// What a bearing at a stand tells, and the levels on the way there.
    fn kinds(&self, stand: &Stand, mover: &Mover) -> Kinds {
        Kinds {
            bearing: stand.told,
            bearing_minutes: stand.at.minutes + self.setup.search.bearing_minutes,
            levels: levels_walk::told(self.fine(), &mover.way(stand.at.point)),
            levels_minutes: stand.at.minutes,
        }
    }

    /// Stands to try, without those that spoil a compass or repeat an earlier one.
    fn candidates(&self, findings: &mut Vec<Finding>) -> Vec<Candidate> {
        let plane = self.fit.plane();
        let pace = self.setup.search.pace;
        let mut all = self.setup.streets.map_or_else(Vec::new, |s| along(s, self.setup.from, pace, &plane));
        if all.is_empty() {
            let reach = self.spread.ellipse().map_or(100.0, |e| 2.0 * e.semi_major.value());
            all = rings(plane.to_plane(self.setup.from), self.geometry.goal, reach, pace, &plane);
            let message = "no streets are used: the stands lie on open ground, and whether one can stand there is not known";
            findings
                .push(Finding::assumed("open-ground", message).hint("name a map: --streets town.geojson"));
        }
        let (place, point) = (self.setup.from, plane.to_plane(self.setup.from));
        all.push(Candidate { place, point, minutes: 0.0, name: HERE.to_owned() });
        all.retain(|c| self.picture.stands.iter().all(|t| apart(*t, c.point) >= SAME_STAND_M));
        if let Some(streets) = self.setup.streets {
            self.off_hazards(streets, &mut all, findings);
        }
        all
    }

    fn off_hazards(&self, streets: &Streets, all: &mut Vec<Candidate>, findings: &mut Vec<Finding>) {
        let mut beside: Vec<(&str, usize)> = Vec::new();
        let hazard = |c: &Candidate| {
            let p = streets.plane().to_plane(c.place);
            streets.hazards().iter().find(|h| h.reaches(p))
        };
        let clear: Vec<Candidate> = all
            .iter()
            .filter(|c| match hazard(c) {
                None => true,
                Some(h) => {
                    match beside.iter_mut().find(|b| b.0 == h.name) {
                        Some(known) => known.1 += 1,
                        None => beside.push((&h.name, 1)),
                    }
                    false
                }
            })
            .cloned()
            .collect();
        if beside.is_empty() {
            return;
        }
        let count: usize = beside.iter().map(|b| b.1).sum();
        let names: Vec<&str> = beside.iter().take(4).map(|b| b.0).collect();
        let names = names.join(", ");
        if clear.is_empty() {
            let message =
                format!("every stand is near something that turns a compass ({names}); none is left out");
            findings.push(Finding::doubtful("compass-hazard", message));
        } else {
            let message = format!("{count} stand(s) are left out, near what turns a compass: {names}");
            findings.push(Finding::assumed("compass-hazard", message));
            *all = clear;
        }
    }

    /// Expected minutes on foot from a point to the emitter, of the 95 % that are in the region.
    fn way(&self, from: PlanePoint) -> f64 {
        let mass: f64 = self.inside.iter().map(|i| self.coarse.mass[*i]).sum();
        let metres: f64 =
            self.inside.iter().map(|i| self.coarse.mass[*i] * apart(from, self.coarse.at[*i])).sum();
        self.detour * metres / mass / self.setup.search.pace.value()
    }

    /// Expected minutes by the nats that a bearing tells.
    fn rough(&self, candidate: &Candidate, effort: f64) -> f64 {
        let (told, _) = Seen::from(&self.coarse, candidate.point, 0.0).told();
        let search = &self.setup.search;
        let heard = self.heard(candidate.point).unwrap_or(1.0);
        candidate.minutes
            + search.bearing_minutes
            + self.way(candidate.point)
            + search.closing_in(effort * (-told * heard).exp())
    }

    /// The first of some candidates, no two of them at the same spot.
    fn apart(
        &self,
        numbers: impl Iterator<Item = usize>,
        candidates: &[Candidate],
        most: usize,
    ) -> Vec<usize> {
        let mut out: Vec<usize> = Vec::new();
        for number in numbers {
            let point = candidates[number].point;
            let least = (0.2 * self.geometry.range(point).value()).clamp(30.0, 400.0);
            if out.len() < most && out.iter().all(|o| apart(candidates[*o].point, point) >= least) {
                out.push(number);
            }
        }
        out
    }

    /// Chance that a signal of the law of the levels rises above the lowest level heard so far, from an emitter at a point.
    fn heard_from(&self, stand: PlanePoint, emitter: PlanePoint) -> Option<f64> {
        let (law, floor) = (self.law?, self.fit.quietest()?);
        let sigma = law.shadowing.value().hypot(law.start.1.value()).max(1.0);
        let level = law.at(Metres::new(apart(stand, emitter).max(1.0)));
        Some(crate::numeric::special::log_normal_cdf((level - floor).value() / sigma).exp())
    }

    /// The same on the average over the 95 % set.
    fn heard(&self, stand: PlanePoint) -> Option<f64> {
        let (mut mass, mut sum) = (0.0, 0.0);
        for i in &self.inside {
            mass += self.coarse.mass[*i];
            sum += self.coarse.mass[*i] * self.heard_from(stand, self.coarse.at[*i])?;
        }
        Some(sum / mass)
    }

    /// Share of the sights to the likeliest points that a building stands in.
    fn blocked(&self, stand: PlanePoint) -> Option<f64> {
        let buildings = &self.picture.buildings;
        if buildings.is_empty() {
            return None;
        }
        let every = (self.inside.len() / 40).max(1);
        let some: Vec<&usize> = self.inside.iter().step_by(every).collect();
        let mass: f64 = some.iter().map(|i| self.coarse.mass[**i]).sum();
        let shut = some.iter().filter(|i| buildings.between(stand, self.coarse.at[***i]));
        Some(shut.map(|i| self.coarse.mass[**i]).sum::<f64>() / mass)
    }

    fn stand(&self, candidate: &Candidate) -> Stand {
        let search = &self.setup.search;
        let blocked = self.blocked(candidate.point);
        let seen = Seen::from(self.fine(), candidate.point, blocked.unwrap_or(0.0));
        let (told, readings) = seen.told();
        let left = seen.left(&readings, SHARES, Confidence::P95);
        let mean =
            |f: &dyn Fn(&crate::plan::belief::Left) -> f64| mean(&left.iter().map(f).collect::<Vec<f64>>());
        let now = self.fine().left(&self.fine().mass, Confidence::P95);
        let heard = self.heard(candidate.point);
        // The region is drawn more smoothly than the points are: what that makes now it is taken to make then.
        let drawn = self.region.map_or(1.0, |r| (r.value() / now.area).clamp(0.8, 1.25));
        let areas = Areas::new(left.iter().map(|l| drawn * l.area), drawn * now.area, heard);
        let most = self.region.map_or(f64::INFINITY, SquareMetres::value);
        // What is not heard tells nothing here: that it is far off is for the levels to say.
        let either = |with: f64, without: f64| heard.map_or(with, |h| h * with + (1.0 - h) * without);
        let rest = either(mean(&|l| search.closing_in(l.effort)), search.closing_in(now.effort));
        let toward = self.geometry.toward(candidate.point);
        let range = self.geometry.range(candidate.point);
        let hand = &self.fine().hand;
        let variance =
            hand.sigma.powi(2) + hand.shared.powi(2) + hand.position / range.value().powi(2).max(1.0);
        let sigma = Sigma::<Angle>::radians(variance.sqrt().min(1.8)).expect("a variance of positive parts");
        let after = self.spread.after_bearing(Angle::radians(toward), range, sigma);
        Stand {
            total: candidate.minutes + search.bearing_minutes + self.way(candidate.point) + rest,
            area: SquareMetres::new(areas.mean(most)),
            usual_area: SquareMetres::new(areas.below(0.5)),
            wide_area: SquareMetres::new(areas.below(0.9)),
            log_determinant: after.determinant().max(f64::MIN_POSITIVE).ln(),
            told: either(told, 0.0),
            toward: crate::geodesy::course(candidate.place, self.fit.plane().to_place(self.geometry.goal))
                .departure,
            range,
            sigma,
            heard,
            blocked,
            cut: self.geometry.cut(candidate.point),
            why: self.geometry.why(candidate.point),
            at: candidate.clone(),
        }
    }
}

/// Areas that may be left, the smallest first, with their probabilities.
struct Areas(Vec<(f64, f64)>);

impl Areas {
    /// Equal shares of what may be read, and the area now where nothing is heard.
    fn new(left: impl ExactSizeIterator<Item = f64>, now: f64, heard: Option<f64>) -> Self {
        let heard = heard.unwrap_or(1.0);
        let share = heard / left.len() as f64;
        let mut all: Vec<(f64, f64)> = left.map(|area| (area, share)).chain([(now, 1.0 - heard)]).collect();
        all.retain(|a| a.1 > 0.0);
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self(all)
    }

    /// The mean, with larger ones counted as `most`.
    fn mean(&self, most: f64) -> f64 {
        self.0.iter().map(|(area, share)| area.min(most) * share).sum()
    }

    /// The area that one stays below with this probability, interpolated between the middles of the shares.
    fn below(&self, probability: f64) -> f64 {
        let mut held = 0.0;
        let mut last: Option<(f64, f64)> = None;
        for (area, share) in &self.0 {
            let middle = held + 0.5 * share;
            if middle >= probability {
                let Some((at, below)) = last else { return *area };
                return below + (area - below) * (probability - at) / (middle - at);
            }
            last = Some((middle, *area));
            held += share;
        }
        last.map_or(0.0, |l| l.1)
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// Whether hunts are quicker than others under the same luck, by more than two standard errors of the mean difference.
fn quicker(ours: &[f64], theirs: &[f64]) -> bool {
    let differences: Vec<f64> = theirs.iter().zip(ours).map(|(t, o)| t - o).collect();
    let gain = mean(&differences);
    let variance = mean(&differences.iter().map(|d| (d - gain).powi(2)).collect::<Vec<f64>>());
    gain > 2.0 * (variance / differences.len().max(1) as f64).sqrt()
}

/// The name of the place where one is.
pub const HERE: &str = "where you are";

/// Streets at right angles make ways longer by 4/π on the average over all directions.
const DETOUR: f64 = 4.0 / std::f64::consts::PI;

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}
