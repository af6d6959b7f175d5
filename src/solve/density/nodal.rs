//! What the nodes weigh at one place, and what each bearing is taken for there.

use crate::solve::{
    density::{
        Batch, CHUNK, Crew, Density, Lanes, Prepared,
        look::Look,
        product::{add, filled, greatest},
    },
    lobe::{concentration, exp_negative, peak_squared},
    wide::{Real, Wide, widest},
};

/// For each crew the weight of every combination of nodes given the place, its compass's errors first.
type Weights<R> = Vec<Vec<R>>;

/// Front and back densities of one bearing at every offset and scale; the back is taken by the probability of being reversed.
type Seen<R> = Vec<(R, R)>;

/// One call of [`Density::verdicts`], to be run with the widest vectors that the processor has.
struct Verdicts<'d, 's> {
    density: &'d Density<'s>,
    place: (f64, f64),
}

impl pulp::NullaryFnOnce for Verdicts<'_, '_> {
    type Output = Vec<(f64, f64)>;

    #[inline(always)]
    fn call(self) -> Self::Output {
        self.density.judged(self.place)
    }
}

/// The same for [`Density::verdicts_at`].
struct Judging<'d, 's, 'p> {
    density: &'d Density<'s>,
    points: &'p Batch,
}

impl pulp::WithSimd for Judging<'_, '_, '_> {
    type Output = Vec<(Lanes, Lanes)>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, simd: S) -> Self::Output {
        let found = self.density.judged((Wide::of(simd, self.points.0), Wide::of(simd, self.points.1)));
        let mut out = Vec::with_capacity(found.len());
        for (direct, reversed) in found {
            out.push((direct.lanes(), reversed.lanes()));
        }
        out
    }
}

impl Density<'_> {
    /// The probability of each bearing being direct and being reversed given the place, averaged over the nodes.
    pub fn verdicts(&self, east: f64, north: f64) -> Vec<(f64, f64)> {
        widest(Verdicts { density: self, place: (east, north) })
    }

    /// The same at several places.
    pub fn verdicts_at(&self, points: &Batch) -> Vec<(Lanes, Lanes)> {
        widest(Judging { density: self, points })
    }

    /// The weight of every combination of nodes given the place, for the crew with the most bearings; they sum to 1. Errors of
    /// the compass come first, then those of north, then scales, then foreign shares.
    pub fn node_weights(&self, east: f64, north: f64) -> Vec<f64> {
        let seen = self.seen((east, north));
        self.weighed(&seen, 1.0).swap_remove(0)
    }

    #[inline(always)]
    fn judged<R: Real>(&self, place: (R, R)) -> Vec<(R, R)> {
        let seen = self.seen(place);
        let (none, one) = (place.0.same(0.0), place.0.same(1.0));
        let weights = self.weighed(&seen, one);
        let mut out = filled((none, none), self.bearings.len());
        let (mut direct, mut foreign) = (vec![0.0; self.slots], vec![0.0; self.slots]);
        let one_points = self.slots - self.alone();
        for (crew, weights) in self.crews.iter().zip(&weights) {
            for &i in &crew.members {
                let mut at = weights.chunks_exact(self.slots);
                let mut ways = seen[i].iter();
                for turn in 0..self.bearings[i].turns.len() {
                    self.bearings[i].spread(self.even, turn, &mut direct, &mut foreign);
                    for _ in 0..self.scales {
                        let (Some(w), Some((front, back))) = (at.next(), ways.next()) else { continue };
                        let (mut ahead, mut any) = (none, none);
                        for s in 0..w.len() {
                            let all = *front * direct[s] + (*back + foreign[s]);
                            let mut part = w[s] / all;
                            if s >= one_points {
                                // Where one bearing points at a place anywhere, it may be this one.
                                let (_, foreign) = self.bearings[i].shared[s - one_points];
                                let lone = all.inverse() * (foreign * self.bearings[i].lone);
                                part = part - w[s - self.each] / all * lone;
                            }
                            ahead = ahead + part * direct[s];
                            any = any + part;
                        }
                        out[i].0 = out[i].0 + ahead * *front;
                        out[i].1 = out[i].1 + any * *back;
                    }
                }
            }
        }
        out
    }

    #[inline(always)]
    fn seen<R: Real>(&self, place: (R, R)) -> Vec<Seen<R>> {
        let mut out = Vec::with_capacity(self.bearings.len());
        for (sight, prepared) in self.scene.sights.iter().zip(&self.bearings) {
            let look = Look::at(sight, self.scene, place);
            let mut here = Vec::with_capacity(prepared.turns.len() * self.scales);
            for turn in &prepared.turns {
                let (toward, away) = look.lobes::<false>(*turn, 0.0);
                for (variance, position) in &prepared.variances {
                    let k = concentration(look.inverse_square * *position + *variance);
                    let peak = peak_squared(k).sqrt();
                    let front = peak * exp_negative(k * (toward - 1.0));
                    here.push((front, peak * exp_negative(k * (away - 1.0)) * sight.reversed));
                }
            }
            out.push(here);
        }
        out
    }

    #[inline(always)]
    fn weighed<R: Real>(&self, seen: &[Seen<R>], one: R) -> Weights<R> {
        let none = one.same(0.0);
        let shared = self.weights.len();
        let mut products: Weights<R> = Vec::with_capacity(self.crews.len());
        let mut sums: Weights<R> = Vec::with_capacity(self.crews.len());
        for crew in &self.crews {
            let mut product = self.product(crew, seen, one);
            let mut sum = filled(none, shared);
            for part in product.chunks_exact(shared) {
                add(&mut sum, part, 1.0);
            }
            let top = greatest(&sum, none).inverse();
            scaled(&mut product, top);
            scaled(&mut sum, top);
            products.push(product);
            sums.push(sum);
        }
        for (crew, product) in products.iter_mut().enumerate() {
            let mut others = self.nothing(one);
            for (other, sum) in sums.iter().enumerate() {
                if other != crew {
                    self.join(&mut others, sum);
                }
            }
            let mut whole = none;
            for part in product.chunks_exact_mut(shared) {
                self.join(part, &others);
                for i in 0..shared {
                    part[i] = part[i] * self.weights[i];
                    whole = whole + part[i];
                }
            }
            scaled(product, whole.inverse());
        }
        products
    }

    /// The likelihood of a crew's bearings at each of its nodes, times the weight of the compass's error, up to a factor.
    #[inline(always)]
    fn product<R: Real>(&self, crew: &Crew, seen: &[Seen<R>], one: R) -> Vec<R> {
        let shared = self.weights.len();
        let mut product = Vec::with_capacity(crew.compass.len() * shared);
        for weight in &crew.compass {
            for part in self.nothing(one) {
                product.push(part * *weight);
            }
        }
        let one_points = self.slots - self.alone();
        let (mut direct, mut foreign) = (vec![0.0; self.slots], vec![0.0; self.slots]);
        for (done, &i) in crew.members.iter().enumerate() {
            let mut at = product.chunks_exact_mut(self.slots);
            let mut ways = seen[i].iter();
            for turn in 0..self.bearings[i].turns.len() {
                self.bearings[i].spread(self.even, turn, &mut direct, &mut foreign);
                for _ in 0..self.scales {
                    let (Some(slots), Some((front, back))) = (at.next(), ways.next()) else { continue };
                    for s in (0..slots.len()).rev() {
                        slots[s] = slots[s] * (*front * direct[s] + (*back + foreign[s]));
                        if s >= one_points {
                            let (_, foreign) = self.bearings[i].shared[s - one_points];
                            slots[s] = slots[s] + slots[s - self.each] * (foreign * self.bearings[i].lone);
                        }
                    }
                }
            }
            if (done + 1) % CHUNK == 0 {
                let top = greatest(&product, one.same(0.0));
                for part in &mut product {
                    *part = *part / top;
                }
            }
        }
        product
    }
}

#[inline(always)]
fn scaled<R: Real>(products: &mut [R], by: R) {
    for product in products {
        *product = *product * by;
    }
}

impl Prepared {
    /// Probability of being direct and density of a foreign bearing, by slot, at one error of direction.
    #[inline(always)]
    fn spread(&self, even: f64, turn: usize, direct: &mut [f64], foreign: &mut [f64]) {
        for (s, (d, f)) in self.plain.iter().enumerate() {
            (direct[s], foreign[s]) = (*d, *f);
        }
        let each = self.shared.len().max(1);
        for (s, (d, f)) in (self.plain.len()..direct.len()).zip(self.shared.iter().cycle()) {
            (direct[s], foreign[s]) = (*d, f * even);
        }
        for (front, more) in &self.pointing[turn] {
            for (e, (_, f)) in self.shared.iter().enumerate() {
                foreign[self.plain.len() + front * each + e] += f * more;
            }
        }
    }
}
