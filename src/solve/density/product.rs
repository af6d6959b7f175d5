//! The likelihood of all bearings at the nodes, multiplied up and averaged, in the processor's own vectors.

use pulp::Simd;

use crate::solve::{
    density::{
        Batch, CHUNK, Crew, Density, LANES, Lanes,
        look::{Look, Shape},
    },
    options::Loss,
    scene::TAIL,
    wide::{Real, Wide},
};

/// One call of [`Density::evaluate`], to be run with the widest vectors that the processor has. Wider vectors give the
/// same bits: no multiplication is fused with an addition.
pub(super) struct Evaluation<'d, 's, 'p, const BOUND: bool> {
    pub density: &'d Density<'s>,
    pub points: &'p Batch,
    pub radius: f64,
}

impl<const BOUND: bool> pulp::WithSimd for Evaluation<'_, '_, '_, BOUND> {
    type Output = Lanes;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Lanes {
        let places = (Wide::of(simd, self.points.0), Wide::of(simd, self.points.1));
        let mut logs = self.density.prior::<BOUND>(self.points, self.radius);
        self.density.evaluate::<_, BOUND>(places, self.radius, &mut logs);
        logs
    }
}

/// The same for [`Density::compass_weights`].
pub(super) struct Weighing<'d, 's, 'p> {
    pub density: &'d Density<'s>,
    pub points: &'p Batch,
}

impl pulp::WithSimd for Weighing<'_, '_, '_> {
    type Output = Vec<Vec<Lanes>>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
        self.density.weigh(simd, self.points)
    }
}

/// Views of the bearings on a batch of points.
struct Views<R> {
    /// Ones.
    one: R,
    looks: Vec<Look<R>>,
    /// By bearing, then by scale.
    shapes: Vec<Shape<R>>,
    radius: f64,
}

/// Room for one block of slots.
struct Room<R> {
    /// A product for each slot.
    slots: Vec<R>,
    /// Products without any shared place seen, by foreign node.
    even: Vec<R>,
    /// By foreign node, the products with one bearing that points at a place anywhere, over those without.
    lone: Vec<R>,
    /// The factors of one bearing with their products so far, by foreign node.
    factors: Vec<(R, R)>,
    /// Cosines of the misses of some bearings from front and back lobe at one turn.
    misses: Vec<(R, R)>,
}

impl Density<'_> {
    /// Adds the log likelihood of places to what is there.
    #[inline(always)]
    pub(super) fn evaluate<R: Real, const BOUND: bool>(&self, places: (R, R), radius: f64, logs: &mut [f64]) {
        if let Loss::Classic(loss) = self.loss {
            return self.classic::<R, BOUND>(loss, places, radius, logs);
        }
        let views = self.views::<R, BOUND>(places, radius);
        let total = self.total::<R, BOUND>(&views, logs);
        let mut sum = views.one.same(0.0);
        for (part, weight) in total.iter().zip(&self.weights) {
            sum = sum + *part * *weight;
        }
        for (log, sum) in logs.iter_mut().zip(sum.numbers()) {
            *log += sum.ln();
        }
    }

    /// The likelihood at each combination of the nodes that all bearings share.
    #[inline(always)]
    fn total<R: Real, const BOUND: bool>(&self, views: &Views<R>, logs: &mut [f64]) -> Vec<R> {
        let mut room = self.room(views.one);
        let mut total = self.nothing(views.one);
        let mut taken = 0;
        for crew in &self.crews {
            let mut mean = filled(views.one.same(0.0), self.weights.len());
            if crew.members.len() > CHUNK {
                let all = self.products::<R, BOUND>(crew, views, &mut room, logs);
                for (part, weight) in all.chunks_exact(mean.len()).zip(&crew.compass) {
                    add(&mut mean, part, *weight);
                }
            } else {
                self.averaged::<R, BOUND>(crew, views, &mut room, &mut mean);
            }
            taken += crew.members.len();
            if taken > CHUNK {
                rescale(&mut mean, logs);
                rescale(&mut total, logs);
                taken = crew.members.len();
            }
            self.join(&mut total, &mean);
        }
        total
    }

    /// The same for a classic loss; there is no error of the compass then.
    fn classic<R: Real, const BOUND: bool>(
        &self,
        loss: crate::numeric::loss::Loss,
        (east, north): (R, R),
        radius: f64,
        logs: &mut [f64],
    ) {
        for (l, (east, north)) in east.numbers().iter().zip(north.numbers()).enumerate() {
            let mut products = self.weights.clone();
            for (sight, prepared) in self.scene.sights.iter().zip(&self.bearings) {
                let look = Look::at(sight, self.scene, (*east, *north));
                let sigma = (sight.sigma.powi(2) + sight.position * look.inverse_square).sqrt();
                for (product, turn) in products.iter_mut().zip(&prepared.turns) {
                    let (c, s) = look.turned::<BOUND>(*turn, radius);
                    *product *= (-loss.rho(s.atan2(c) / sigma)).exp().max(1e-300);
                }
                rescale(&mut products, &mut logs[l..=l]);
            }
            logs[l] += products.iter().sum::<f64>().ln();
        }
    }

    #[inline(always)]
    fn weigh<S: Simd>(&self, simd: S, points: &Batch) -> Vec<Vec<Lanes>> {
        let views = self.views::<_, false>((Wide::of(simd, points.0), Wide::of(simd, points.1)), 0.0);
        let mut room = self.room(views.one);
        let mut unused = [0.0; LANES];
        let mut out = Vec::with_capacity(self.crews.len());
        for crew in &self.crews {
            let all = self.products::<_, false>(crew, &views, &mut room, &mut unused);
            let mut whole = views.one.same(0.0);
            let mut sums = filled(whole, crew.compass.len());
            for (k, part) in all.chunks_exact(self.weights.len()).enumerate() {
                for (part, weight) in part.iter().zip(&self.weights) {
                    sums[k] = sums[k] + *part * (crew.compass[k] * weight);
                }
                whole = whole + sums[k];
            }
            let mut shares = Vec::with_capacity(sums.len());
            for sum in sums {
                shares.push((sum / whole).lanes());
            }
            out.push(shares);
        }
        out
    }

    #[inline(always)]
    fn room<R: Real>(&self, one: R) -> Room<R> {
        Room {
            slots: filled(one, self.slots),
            even: filled(one, self.each),
            lone: filled(one, self.each),
            factors: vec![(one, one); self.each],
            misses: Vec::with_capacity(CHUNK.min(self.bearings.len())),
        }
    }

    #[inline(always)]
    fn views<R: Real, const BOUND: bool>(&self, places: (R, R), radius: f64) -> Views<R> {
        let mut looks = Vec::with_capacity(self.bearings.len());
        let mut shapes = Vec::with_capacity(self.bearings.len() * self.scales);
        for (sight, prepared) in self.scene.sights.iter().zip(&self.bearings) {
            let look = Look::at(sight, self.scene, places);
            for (variances, highest) in prepared.variances.iter().zip(&prepared.highest) {
                shapes.push(Shape::of::<BOUND>(&look, *variances, *highest, radius));
            }
            looks.push(look);
        }
        Views { one: places.0.same(1.0), looks, shapes, radius }
    }

    /// Adds to `mean` the likelihood of a crew's few bearings, averaged over the errors of its compass.
    #[inline(always)]
    fn averaged<R: Real, const BOUND: bool>(
        &self,
        crew: &Crew,
        views: &Views<R>,
        room: &mut Room<R>,
        mean: &mut [R],
    ) {
        let norths = self.weights.len() / (self.scales * self.slots);
        for (k, weight) in crew.compass.iter().enumerate() {
            for north in 0..norths {
                let turn = k * norths + north;
                self.turn::<R, BOUND>(&crew.members, views, room, turn);
                for scale in 0..self.scales {
                    self.block::<R, BOUND>(&crew.members, views, room, (turn, scale));
                    let first = (north * self.scales + scale) * self.slots;
                    add(&mut mean[first..first + self.slots], &room.slots, *weight);
                }
            }
        }
    }

    /// The likelihood of a crew's bearings at each combination of its nodes.
    #[inline(always)]
    fn products<R: Real, const BOUND: bool>(
        &self,
        crew: &Crew,
        views: &Views<R>,
        room: &mut Room<R>,
        logs: &mut [f64],
    ) -> Vec<R> {
        let mut all = Vec::with_capacity(crew.compass.len() * self.weights.len());
        for _ in &crew.compass {
            all.extend(self.nothing(views.one));
        }
        let turns = crew.compass.len() * self.weights.len() / (self.scales * self.slots);
        for some in crew.members.chunks(CHUNK) {
            let mut blocks = all.chunks_exact_mut(self.slots);
            for turn in 0..turns {
                self.turn::<R, BOUND>(some, views, room, turn);
                for scale in 0..self.scales {
                    self.block::<R, BOUND>(some, views, room, (turn, scale));
                    if let Some(block) = blocks.next() {
                        self.join(block, &room.slots);
                    }
                }
            }
            rescale(&mut all, logs);
        }
        all
    }

    /// Misses of some bearings at one error of direction.
    #[inline(always)]
    fn turn<R: Real, const BOUND: bool>(
        &self,
        some: &[usize],
        views: &Views<R>,
        room: &mut Room<R>,
        turn: usize,
    ) {
        room.misses.clear();
        for &i in some {
            room.misses.push(views.looks[i].lobes::<BOUND>(self.bearings[i].turns[turn], views.radius));
        }
    }

    /// The likelihood of some bearings at one error of direction and one scale of errors, for every slot.
    #[inline(always)]
    fn block<R: Real, const BOUND: bool>(
        &self,
        some: &[usize],
        views: &Views<R>,
        room: &mut Room<R>,
        (turn, scale): (usize, usize),
    ) {
        let one = views.one;
        put_all(&mut room.slots, one);
        put_all(&mut room.even, one);
        put_all(&mut room.lone, one.same(0.0));
        let each = self.each;
        for (&i, (toward, away)) in some.iter().zip(&room.misses) {
            let (front, back) = views.shapes[i * self.scales + scale].densities::<BOUND>(*toward, *away);
            let prepared = &self.bearings[i];
            let back = back * self.scene.sights[i].reversed;
            for (product, (direct, foreign)) in room.slots.iter_mut().zip(&prepared.plain) {
                *product = *product * (front * *direct + (back + *foreign));
            }
            let mut all = one;
            for (e, (direct, foreign)) in prepared.shared.iter().enumerate() {
                let factor = front * *direct + (back + *foreign * self.even);
                room.even[e] = room.even[e] * factor;
                room.factors[e] = (all, factor);
                all = all * factor;
            }
            let pointing = prepared.pointing[turn].as_slice();
            if pointing.is_empty() && !self.lone {
                continue;
            }
            // One division instead of one for each: the inverse of a factor is that of all times the others.
            let mut inverse = all.inverse();
            for (e, (_, foreign)) in prepared.shared.iter().enumerate().rev() {
                let (before, factor) = room.factors[e];
                let ratio = inverse * before * *foreign;
                inverse = inverse * factor;
                room.lone[e] = room.lone[e] + ratio * prepared.lone;
                let first = prepared.plain.len() + e;
                for (place, more) in pointing {
                    let slot = &mut room.slots[first + place * each];
                    *slot = *slot * (ratio * *more + 1.0);
                }
            }
        }
        let Room { slots, even, lone, .. } = room;
        let plain = self.bearings.first().map_or(0, |b| b.plain.len());
        let mut groups = slots[plain..].chunks_exact_mut(each.max(1));
        for places in groups.by_ref().take(self.places) {
            multiply(places, even);
        }
        // Without a bearing that points at a place anywhere, and with one.
        for (last, group) in groups.enumerate() {
            for e in 0..each {
                group[e] = if last == 0 { even[e] } else { even[e] * lone[e] };
            }
        }
    }

    /// How many slots at the end are for a shared place toward which no bearing points, and as many for one toward which one does.
    #[inline(always)]
    pub(super) fn alone(&self) -> usize {
        if self.lone { self.each } else { 0 }
    }

    /// The products of no bearings at the nodes that all share.
    #[inline(always)]
    pub(super) fn nothing<R: Real>(&self, one: R) -> Vec<R> {
        let mut out = filled(one, self.weights.len());
        let alone = self.alone();
        for block in out.chunks_exact_mut(self.slots) {
            put_all(&mut block[self.slots - alone..], one.same(0.0));
        }
        out
    }

    /// Joins the products of other bearings to those of some.
    #[inline(always)]
    pub(super) fn join<R: Real>(&self, products: &mut [R], by: &[R]) {
        let alone = self.alone();
        let (none, one) = (self.slots - 2 * alone, self.slots - alone);
        for (block, by) in products.chunks_exact_mut(self.slots).zip(by.chunks_exact(self.slots)) {
            for e in 0..alone {
                block[one + e] = block[one + e] * by[none + e] + block[none + e] * by[one + e];
            }
            multiply(&mut block[..one], &by[..one]);
        }
    }

    /// Log of the prior density of the place (and, for bounds, its greatest value in the disc).
    #[inline(always)]
    pub(super) fn prior<const BOUND: bool>(&self, points: &Batch, radius: f64) -> Lanes {
        let knee = self.scene.knee.powi(2);
        let mut out = [0.0; LANES];
        for l in 0..LANES {
            let d = (points.0[l] - self.scene.middle.x).hypot(points.1[l] - self.scene.middle.y);
            let d = if BOUND { (d - radius).max(0.0) } else { d };
            out[l] = -TAIL * (knee + d * d).ln();
        }
        out
    }
}

#[inline(always)]
pub(super) fn filled<R: Copy>(value: R, count: usize) -> Vec<R> {
    let mut out = Vec::with_capacity(count);
    for _ in 0..count {
        out.push(value);
    }
    out
}

#[inline(always)]
fn put_all<R: Real>(to: &mut [R], value: R) {
    for to in to {
        *to = value;
    }
}

#[inline(always)]
pub(super) fn multiply<R: Real>(products: &mut [R], by: &[R]) {
    for (product, factor) in products.iter_mut().zip(by) {
        *product = *product * *factor;
    }
}

#[inline(always)]
pub(super) fn add<R: Real>(sums: &mut [R], parts: &[R], weight: f64) {
    for (sum, part) in sums.iter_mut().zip(parts) {
        *sum = *sum + *part * weight;
    }
}

/// The greatest at each place, at least `none`.
#[inline(always)]
pub(super) fn greatest<R: Real>(products: &[R], none: R) -> R {
    let mut top = none;
    for product in products {
        top = top.greater(*product);
    }
    top
}

/// Divides the products of each place by their greatest and adds its logarithm there.
#[inline(always)]
fn rescale<R: Real>(products: &mut [R], logs: &mut [f64]) {
    let Some(first) = products.first() else { return };
    let top = greatest(products, first.same(0.0));
    for (log, top) in logs.iter_mut().zip(top.numbers()) {
        *log += top.ln();
    }
    for product in products {
        *product = *product / top;
    }
}
