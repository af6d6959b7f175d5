//! What the nodes weigh at one place, and what each bearing is taken for there.

use crate::solve::{
    density::{CHUNK, Crew, Density, Prepared, look::Look},
    lobe::{concentration, exp_negative, peak_squared},
};

/// For each crew the weight of every combination of nodes given the place, its compass's errors first.
type Weights = Vec<Vec<f64>>;

/// One call of [`Density::verdicts`], to be run with the widest vectors that the processor has.
struct Verdicts<'d, 's> {
    density: &'d Density<'s>,
    place: [f64; 2],
}

impl pulp::NullaryFnOnce for Verdicts<'_, '_> {
    type Output = Vec<(f64, f64)>;

    #[inline(always)]
    fn call(self) -> Self::Output {
        self.density.judged(self.place)
    }
}

/// Front and back densities of one bearing at every offset and scale; the back is taken by the probability of being reversed.
type Seen = Vec<(f64, f64)>;

impl Density<'_> {
    /// The probability of each bearing being direct and being reversed given the place, averaged over the nodes.
    pub fn verdicts(&self, east: f64, north: f64) -> Vec<(f64, f64)> {
        pulp::Arch::new().dispatch(Verdicts { density: self, place: [east, north] })
    }

    /// The weight of every combination of nodes given the place, for the crew with the most bearings; they sum to 1. Errors of
    /// the compass come first, then those of north, then scales, then foreign shares.
    pub fn node_weights(&self, east: f64, north: f64) -> Vec<f64> {
        let seen = self.seen((east, north));
        self.weighed(&seen).swap_remove(0)
    }

    #[inline(always)]
    fn judged(&self, [east, north]: [f64; 2]) -> Vec<(f64, f64)> {
        let seen = self.seen((east, north));
        let weights = self.weighed(&seen);
        let mut out = vec![(0.0, 0.0); self.bearings.len()];
        let (mut direct, mut foreign) = (vec![0.0; self.slots], vec![0.0; self.slots]);
        for (crew, weights) in self.crews.iter().zip(&weights) {
            for &i in &crew.members {
                let mut at = weights.chunks_exact(self.slots);
                let mut ways = seen[i].iter();
                for turn in 0..self.bearings[i].turns.len() {
                    self.bearings[i].spread(self.even, turn, &mut direct, &mut foreign);
                    for _ in 0..self.scales {
                        let (Some(w), Some((front, back))) = (at.next(), ways.next()) else { continue };
                        let (mut ahead, mut any) = (0.0, 0.0);
                        for s in 0..w.len() {
                            let part = w[s] / (direct[s] * front + (back + foreign[s]));
                            ahead += part * direct[s];
                            any += part;
                        }
                        out[i].0 += ahead * front;
                        out[i].1 += any * back;
                    }
                }
            }
        }
        out
    }

    #[inline(always)]
    fn seen(&self, place: (f64, f64)) -> Vec<Seen> {
        let mut out = Vec::with_capacity(self.bearings.len());
        for (sight, prepared) in self.scene.sights.iter().zip(&self.bearings) {
            let look = Look::at(sight, self.scene, place);
            let mut here = Vec::with_capacity(prepared.turns.len() * self.scales);
            for turn in &prepared.turns {
                let (toward, _) = look.lobes::<false>(*turn, 0.0);
                for (variance, position) in &prepared.variances {
                    let k = concentration(variance + position * look.inverse_square);
                    let peak = peak_squared(k).sqrt();
                    let front = peak * exp_negative(k * (toward - 1.0));
                    let back = peak * exp_negative(k * (-toward - 1.0));
                    here.push((front, back * sight.reversed));
                }
            }
            out.push(here);
        }
        out
    }

    #[inline(always)]
    fn weighed(&self, seen: &[Seen]) -> Weights {
        let mut products: Weights = Vec::with_capacity(self.crews.len());
        let mut all = self.weights.clone();
        for crew in &self.crews {
            let mut product = self.product(crew, seen);
            let mut sums = vec![0.0; all.len()];
            for part in product.chunks_exact(all.len()) {
                for i in 0..all.len() {
                    sums[i] += part[i];
                }
            }
            let top = sums.iter().copied().fold(0.0, f64::max);
            for i in 0..all.len() {
                all[i] *= sums[i] / top;
                sums[i] = if sums[i] > 0.0 { 1.0 / sums[i] } else { 0.0 };
            }
            for part in product.chunks_exact_mut(all.len()) {
                for i in 0..sums.len() {
                    part[i] *= sums[i];
                }
            }
            products.push(product);
        }
        let whole: f64 = all.iter().sum();
        for product in &mut products {
            for part in product.chunks_exact_mut(all.len()) {
                for i in 0..all.len() {
                    part[i] *= all[i] / whole;
                }
            }
        }
        products
    }

    /// The likelihood of a crew's bearings at each of its nodes, times the weight of the compass's error, up to a factor.
    #[inline(always)]
    fn product(&self, crew: &Crew, seen: &[Seen]) -> Vec<f64> {
        let shared = self.weights.len();
        let mut product = vec![0.0; crew.compass.len() * shared];
        for (part, weight) in product.chunks_exact_mut(shared).zip(&crew.compass) {
            part.fill(*weight);
        }
        let (mut direct, mut foreign) = (vec![0.0; self.slots], vec![0.0; self.slots]);
        for (done, &i) in crew.members.iter().enumerate() {
            let mut at = product.chunks_exact_mut(self.slots);
            let mut ways = seen[i].iter();
            for turn in 0..self.bearings[i].turns.len() {
                self.bearings[i].spread(self.even, turn, &mut direct, &mut foreign);
                for _ in 0..self.scales {
                    let (Some(slots), Some((front, back))) = (at.next(), ways.next()) else { continue };
                    for s in 0..slots.len() {
                        slots[s] *= direct[s] * front + (back + foreign[s]);
                    }
                }
            }
            if (done + 1) % CHUNK == 0 {
                let top = product.iter().copied().fold(0.0, f64::max);
                product.iter_mut().for_each(|p| *p /= top);
            }
        }
        product
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
