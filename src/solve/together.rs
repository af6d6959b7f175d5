//! Bearings taken in the same minute from different stands: where they meet needs no assumption about how an emitter moves, and two
//! that point at different places cannot both be of one emitter.

use nalgebra::Vector2;

use crate::{
    geodesy::{Place, course},
    north::TrueBearing,
    solve::{
        cut::{Ray, pairs},
        fit::Fit,
    },
};

/// Two bearings of one minute that meet.
#[derive(Clone, Debug, PartialEq)]
pub struct Crossing {
    /// Their numbers, in the order given.
    pub bearings: [usize; 2],
    /// Where they meet.
    pub place: Place,
}

/// Stands that are nearer to one another than this are one, metres.
const APART_M: f64 = 30.0;

/// Lines that cross at less than this angle meet anywhere, degrees.
const LEAST_DEGREES: f64 = 15.0;

/// Numbers of bearings by the minute (UTC) in which they were taken, for minutes in which there are some from different stands; in
/// the order of time. Bearings without a time are in none.
pub fn together(bearings: &[TrueBearing]) -> Vec<Vec<usize>> {
    let minute = |b: &TrueBearing| Some(b.read().time.as_ref()?.utc().as_millisecond().div_euclid(60_000));
    let mut by_minute: Vec<(i64, usize)> =
        bearings.iter().enumerate().filter_map(|(i, b)| Some((minute(b)?, i))).collect();
    by_minute.sort_unstable();
    let apart = |group: &[(i64, usize)]| {
        let at = |k: usize| bearings[group[k].1].read().stand.at;
        (1..group.len()).any(|k| course(at(0), at(k)).distance.value() >= APART_M)
    };
    let groups = by_minute.chunk_by(|a, b| a.0 == b.0).filter(|g| apart(g));
    groups.map(|g| g.iter().map(|(_, i)| *i).collect()).collect()
}

/// Where bearings of one minute meet, the two of each minute that cross most squarely; in the order of time.
pub fn crossings(fit: &Fit, bearings: &[TrueBearing]) -> Vec<Crossing> {
    let sights = &fit.scene.sights;
    let ray = |i: usize| {
        let s = &sights[i];
        Ray { from: Vector2::new(s.east, s.north), sin: s.sin, cos: s.cos }
    };
    let least = LEAST_DEGREES.to_radians().sin();
    let best = |group: Vec<usize>| -> Option<Crossing> {
        let rays: Vec<Ray> = group.iter().map(|i| ray(*i)).collect();
        let sine = |[i, j]: [usize; 2]| (rays[i].sin * rays[j].cos - rays[i].cos * rays[j].sin).abs();
        let square = pairs(&rays).into_iter().map(|(pair, at)| (sine(pair), pair, at));
        let (_, [i, j], at) = square.filter(|c| c.0 >= least).max_by(|a, b| a.0.total_cmp(&b.0))?;
        Some(Crossing { bearings: [group[i], group[j]], place: fit.scene.place(at.x, at.y) })
    };
    if !fit.scene.flat || sights.len() != bearings.len() {
        return Vec::new();
    }
    together(bearings).into_iter().filter_map(best).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        ingest, north,
        solve::{self, Options, Problem},
    };

    const EMITTER: (f64, f64) = (47.0, 8.0);

    /// Bearings without any error to an emitter from stands so many metres east and north of it, each with what was written down
    /// of the time; turned by so many degrees.
    fn bearings(taken: &[(f64, f64, &str, f64)]) -> Vec<TrueBearing> {
        let place = |lat, lon| Place::from_lat_lon_degrees(lat, lon).unwrap();
        let emitter = place(EMITTER.0, EMITTER.1);
        let mut notes = String::from("id,time,lat,lon,bearing_deg,north,sigma_deg\n");
        for (i, (east, north, time, turned)) in taken.iter().enumerate() {
            // Metres per degree at 47° north on WGS 84, to 0.1 %: the course below is taken from the stand that comes of it.
            let (lat, lon) = (EMITTER.0 + north / 111_170.0, EMITTER.1 + east / 76_050.0);
            let toward = course(place(lat, lon), emitter).departure.to_degrees();
            notes += &format!("b{i},{time},{lat},{lon},{},true,3\n", (toward + turned).rem_euclid(360.0));
        }
        let read = ingest::bearings("notes.csv", notes.as_bytes(), &ingest::Settings::default());
        assert_eq!(read.rows.len(), taken.len(), "{notes}");
        north::resolve(&read.rows, &north::Settings::default()).bearings
    }

    fn found(bearings: &[TrueBearing]) -> Vec<Crossing> {
        let problem = Problem { bearings, ..Problem::default() };
        crossings(&solve::fit(&problem, &Options::default()).unwrap(), bearings)
    }

    /// A minute is one of the clock in UTC, and stands of one minute are apart from one another.
    #[test]
    fn bearings_of_one_minute_are_those_of_the_clock() {
        let all = bearings(&[
            (-900.0, 0.0, "2026-03-17T18:41:00Z", 0.0),
            (0.0, -900.0, "2026-03-17T18:40:59Z", 0.0),
            (700.0, -700.0, "2026-03-17T19:40:01+01:00", 0.0),
            // The next minute, by one second; from two stands 20 m apart; and at no time.
            (900.0, 0.0, "2026-03-17T18:42:00Z", 0.0),
            (500.0, 500.0, "2026-03-17T18:45:10Z", 0.0),
            (500.0, 520.0, "2026-03-17T18:45:50Z", 0.0),
            (-400.0, 500.0, "", 0.0),
            (-500.0, 500.0, "", 0.0),
            // Before all of them.
            (0.0, 800.0, "2026-03-17T18:30:30Z", 0.0),
            (800.0, 100.0, "2026-03-17T18:30:00Z", 0.0),
        ]);
        assert_eq!(together(&all), [vec![8, 9], vec![1, 2]]);
        assert!(together(&[]).is_empty());
    }

    /// Lines without error meet at the emitter; of a minute the two that cross most squarely are told.
    #[test]
    fn bearings_of_one_minute_meet_at_the_emitter() {
        let minute = "2026-03-17T18:40:30Z";
        // From the west, from the south-west, and nearly from the south: the first and the last cross most squarely.
        let all = bearings(&[
            (-900.0, 0.0, minute, 0.0),
            (-700.0, -600.0, minute, 0.0),
            (100.0, -900.0, minute, 0.0),
            (900.0, 50.0, "", 0.0),
        ]);
        let found = found(&all);
        let numbers: Vec<[usize; 2]> = found.iter().map(|c| c.bearings).collect();
        assert_eq!(numbers, [[0, 2]]);
        let emitter = Place::from_lat_lon_degrees(EMITTER.0, EMITTER.1).unwrap();
        // Azimuths on the plane of a search this wide are good to 1e-5 degrees: a millimetre at a kilometre.
        let off = course(found[0].place, emitter).distance.value();
        assert!(off < 0.01, "{off} m");
    }

    /// Two of different minutes, two that run along each other and two that run apart say nothing of their own.
    #[test]
    fn bearings_that_do_not_meet_in_one_minute_are_not_told() {
        let one = |i: usize| format!("2026-03-17T18:4{i}:30Z");
        let times: Vec<String> = (0..4).map(one).collect();
        let all = bearings(&[
            (-900.0, 0.0, &times[0], 0.0),
            (0.0, -900.0, &times[1], 0.0),
            // They cross at 9 degrees.
            (-900.0, -70.0, &times[2], 0.0),
            (-900.0, 70.0, &times[2], 0.0),
            // The second is turned away, and the lines meet behind it.
            (900.0, 0.0, &times[3], 0.0),
            (0.0, 900.0, &times[3], 180.0),
        ]);
        assert_eq!(together(&all), [vec![2, 3], vec![4, 5]]);
        assert!(found(&all).is_empty());
    }
}
