//! What else than bearings speaks of the place: levels, sectors. Each judges a place apart from the others.

use std::{
    collections::HashMap,
    num::NonZero,
    sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError},
};

use nalgebra::{Matrix2, Vector2};

use crate::{
    geodesy::PlanePoint,
    solve::{
        density::{Batch, LANES},
        levels::{LevelFit, LevelPriors, Levels, Reading},
        tree::{Known, batch},
    },
    units::Dbm,
};

/// Evidence of another kind than bearings, ready to judge places of the plane by.
pub trait Evidence: std::fmt::Debug + Send + Sync {
    /// Natural logarithm of the likelihood at each point, up to a constant.
    fn at(&self, points: &Batch) -> [f64; LANES];

    /// Told which places will be asked for, metres east and north; evidence that is dear judges those that are new to it.
    fn learn(&self, places: &[[f64; 2]]) {
        let _ = places;
    }

    /// The finest length, metres, on which it can vary within the disc of `radius` around each point.
    fn finest(&self, points: &Batch, radius: f64) -> [f64; LANES];

    /// How far above its value at each point it can lie within the disc of `radius` around it; asked where it may vary more
    /// finely than the disc shows.
    fn hidden(&self, points: &Batch, radius: f64) -> [f64; LANES];

    /// Whether a polynomial may stand for it within the disc of `radius` around a place.
    fn is_smooth(&self, at: [f64; 2], radius: f64) -> bool {
        let _ = (at, radius);
        false
    }

    /// Places that about cover what it holds likely, with the logarithms of the likelihood and of its integral over what each stands
    /// for; none where it does not know.
    fn masses(&self) -> &[Known] {
        &[]
    }

    /// The law of distance for an emitter at a place, from evidence that has one.
    fn law(&self, place: PlanePoint) -> Option<LevelFit> {
        let _ = place;
        None
    }

    /// The lowest level that it heard, from evidence that is made of levels.
    fn quietest(&self) -> Option<Dbm> {
        None
    }

    /// Places worth starting a search from, metres east and north.
    fn starts(&self) -> Vec<Vector2<f64>>;

    /// A scale for steps at a point: about the information there, per square metre.
    fn information(&self, at: &Vector2<f64>) -> Matrix2<f64> {
        let length = self.finest(&([at.x; LANES], [at.y; LANES]), 0.0)[0];
        Matrix2::identity() / length.powi(2)
    }
}

/// More places than this are not kept: 4 MiB.
const MOST_KEPT: usize = 1 << 17;

/// Evidence that remembers what it said: problems that differ in their bearings alone ask it for many of the same places.
#[derive(Debug)]
pub struct Remembered {
    inner: Box<dyn Evidence>,
    said: Mutex<HashMap<[u64; 2], f64>>,
    threads: usize,
}

impl Remembered {
    /// Evidence that has said nothing yet, to be asked by so many threads at most; `None` for as many as there are processors, up
    /// to four.
    pub fn new(inner: Box<dyn Evidence>, threads: Option<NonZero<usize>>) -> Self {
        Self { inner, said: Mutex::default(), threads: threads.map_or_else(processors, NonZero::get) }
    }

    /// Levels that have said nothing yet.
    pub fn of_levels(readings: &[Reading], priors: &LevelPriors, threads: Option<NonZero<usize>>) -> Self {
        Self::new(Box::new(Levels::new(readings, priors)), threads)
    }

    /// Forgets what was said where there is little room left.
    fn make_room(&self) {
        let mut said = self.said();
        if said.len() > MOST_KEPT / 2 {
            said.clear();
        }
    }

    fn said(&self) -> MutexGuard<'_, HashMap<[u64; 2], f64>> {
        self.said.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What was said of all the points; `None` where one is new.
    fn known(&self, points: &Batch) -> Option<[f64; LANES]> {
        let said = self.said();
        let mut out = [0.0; LANES];
        for (l, value) in out.iter_mut().enumerate() {
            *value = *said.get(&name([points.0[l], points.1[l]]))?;
        }
        Some(out)
    }

    fn judged(&self, points: &Batch) -> [f64; LANES] {
        let out = self.inner.at(points);
        let mut said = self.said();
        if said.len() < MOST_KEPT {
            said.extend((0..LANES).map(|l| (name([points.0[l], points.1[l]]), out[l])));
        }
        out
    }
}

/// A thread is not worth its start for fewer batches than this.
const LEAST_SHARE: usize = 3;

/// Most threads that judge places: more of them wait for one another.
const MOST_THREADS: usize = 4;

/// How many threads judge places unless it is stated; one in a browser.
fn processors() -> usize {
    static COUNT: OnceLock<usize> = OnceLock::new();
    *COUNT.get_or_init(|| std::thread::available_parallelism().map_or(1, NonZero::get).min(MOST_THREADS))
}

/// A place by its bits.
fn name(place: [f64; 2]) -> [u64; 2] {
    place.map(f64::to_bits)
}

impl Evidence for Remembered {
    fn at(&self, points: &Batch) -> [f64; LANES] {
        self.known(points).unwrap_or_else(|| self.judged(points))
    }

    fn learn(&self, places: &[[f64; 2]]) {
        let fresh: Vec<[f64; 2]> = {
            let said = self.said();
            let room = MOST_KEPT.saturating_sub(said.len());
            places.iter().filter(|p| !said.contains_key(&name(**p))).take(room).copied().collect()
        };
        let chunks: Vec<&[[f64; 2]]> = fresh.chunks(LANES).collect();
        let judge = |chunks: &[&[[f64; 2]]]| {
            for chunk in chunks {
                self.judged(&batch(chunk.iter().copied()));
            }
        };
        // What is said of a place depends on no other, so that the order does not matter.
        let share = chunks.len().div_ceil(self.threads);
        if share < LEAST_SHARE {
            return judge(&chunks);
        }
        let (own, others) = chunks.split_at(share);
        std::thread::scope(|scope| {
            for part in others.chunks(share) {
                // Without another thread this one does its work.
                let helped = std::thread::Builder::new().spawn_scoped(scope, move || judge(part));
                if helped.is_err() {
                    judge(part);
                }
            }
            judge(own);
        });
    }

    fn finest(&self, points: &Batch, radius: f64) -> [f64; LANES] {
        self.inner.finest(points, radius)
    }

    fn hidden(&self, points: &Batch, radius: f64) -> [f64; LANES] {
        self.inner.hidden(points, radius)
    }

    fn is_smooth(&self, at: [f64; 2], radius: f64) -> bool {
        self.inner.is_smooth(at, radius)
    }

    fn masses(&self) -> &[Known] {
        self.inner.masses()
    }

    fn law(&self, place: PlanePoint) -> Option<LevelFit> {
        self.inner.law(place)
    }

    fn quietest(&self) -> Option<Dbm> {
        self.inner.quietest()
    }

    fn starts(&self) -> Vec<Vector2<f64>> {
        self.inner.starts()
    }

    fn information(&self, at: &Vector2<f64>) -> Matrix2<f64> {
        self.inner.information(at)
    }
}

/// What levels say of places, kept from one problem to the next: it depends on the levels and on what is taken for granted about
/// them, and not on bearings. So a problem with one bearing more asks for few places that are new, and its answer is the same as
/// without.
#[derive(Debug, Default)]
pub struct Memory {
    kept: Mutex<Vec<Kept>>,
}

/// Levels on their plane, and what they said.
#[derive(Debug)]
struct Kept {
    readings: Vec<Reading>,
    priors: LevelPriors,
    evidence: Arc<Remembered>,
}

/// So many sets of levels are kept, those asked last: of a case the levels on the plane of all, and on their own.
const MOST_SETS: usize = 3;

impl Memory {
    /// The evidence of these levels, with what it said before; where they are new, to be asked by so many threads at most.
    pub(super) fn levels(
        &self,
        readings: Vec<Reading>,
        priors: &LevelPriors,
        threads: Option<NonZero<usize>>,
    ) -> Arc<Remembered> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let known = kept.iter().position(|k| k.priors == *priors && k.readings == readings);
        let here = match known {
            Some(at) => kept.remove(at),
            None => {
                let evidence = Arc::new(Remembered::of_levels(&readings, priors, threads));
                Kept { readings, priors: *priors, evidence }
            }
        };
        here.evidence.make_room();
        let evidence = Arc::clone(&here.evidence);
        kept.truncate(MOST_SETS - 1);
        kept.insert(0, here);
        evidence
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    static ASKED: AtomicUsize = AtomicUsize::new(0);

    #[derive(Debug)]
    struct Dear;

    impl Evidence for Dear {
        fn at(&self, points: &Batch) -> [f64; LANES] {
            ASKED.fetch_add(1, Ordering::Relaxed);
            std::array::from_fn(|l| (points.0[l] - 3.0 * points.1[l]).sin())
        }

        fn finest(&self, _: &Batch, _: f64) -> [f64; LANES] {
            [1.0; LANES]
        }

        fn hidden(&self, _: &Batch, _: f64) -> [f64; LANES] {
            [0.0; LANES]
        }

        fn starts(&self) -> Vec<Vector2<f64>> {
            Vec::new()
        }
    }

    #[test]
    fn what_was_said_of_a_place_is_said_again_without_asking() {
        let evidence = Remembered::new(Box::new(Dear), None);
        let places: Vec<[f64; 2]> = (0..3 * LANES).map(|i| [i as f64, -(i as f64)]).collect();
        evidence.learn(&places);
        assert_eq!(ASKED.load(Ordering::Relaxed), 3);
        evidence.learn(&places);
        for chunk in places.chunks(LANES - 1) {
            let points = batch(chunk.iter().copied());
            assert_eq!(evidence.at(&points), Dear.at(&points));
        }
        // Each comparison asked the dear one itself, and nothing else did.
        assert_eq!(ASKED.load(Ordering::Relaxed), 3 + places.chunks(LANES - 1).len());
    }
}
