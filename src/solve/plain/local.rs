//! The cost of all lines around a place, with exact first and second derivatives.

use nalgebra::Vector2;

use super::{
    blocks::{Blocks, FARTHEST, LANES, Lanes, NEAREST},
    penalty::Penalty,
};
use crate::numeric::least_squares::{Model, Normal, Problem, Step};

/// The cost of all lines by one method. As a problem of two parameters they are metres east and north; as one of three,
/// the shared correction in radians comes first, so that it is eliminated first.
#[derive(Clone, Copy)]
pub struct Scored<'a, P> {
    /// The lines.
    pub blocks: &'a Blocks,
    /// What a miss costs.
    pub penalty: P,
    /// 1/σ² of the prior of the correction.
    pub prior: f64,
}

/// The cost around a place.
#[derive(Clone, Copy, Debug)]
pub struct Local<const N: usize> {
    /// With the exact second derivatives where those are positive definite, else with JᵀWJ.
    pub steps: Normal<N>,
    /// JᵀWJ.
    information: [[f64; N]; N],
    /// Whether the second derivatives are positive definite: a place where the cost has no slope is then a minimum.
    pub cupped: bool,
}

impl<const N: usize> Local<N> {
    /// Chooses the second derivatives to step by. Of the matrices only the lower triangle is read.
    #[inline]
    pub fn new(cost: f64, gradient: [f64; N], hessian: [[f64; N]; N], information: [[f64; N]; N]) -> Self {
        let squares = std::array::from_fn(|j| information[j][j]);
        let (e, n) = (N - 2, N - 1);
        // A Hessian that is nearly singular where the information is not belongs to a saddle or a shoulder. The place's
        // own corner decides; the correction's is never less than its prior.
        let corner = |m: &[[f64; N]; N]| m[e][e] * m[n][n] - m[n][e] * m[n][e];
        let cupped = hessian[n][n] > 0.0 && corner(&hessian) > 1e-6 * corner(&information);
        let curvature = if cupped { hessian } else { information };
        Self { steps: Normal { cost, gradient, curvature, squares }, information, cupped }
    }
}

impl<const N: usize> Model<N> for Local<N> {
    #[inline]
    fn cost(&self) -> f64 {
        self.steps.cost
    }

    #[inline]
    fn scale(&self) -> [f64; N] {
        self.steps.scale()
    }

    #[inline]
    fn step(&self, damping: f64, scale: &[f64; N]) -> Option<Step<N>> {
        self.steps.step(damping, scale)
    }

    /// Of JᵀWJ, the customary covariance; the Hessian's inverse differs from it by the misses.
    #[inline]
    fn inverse(&self) -> Option<[[f64; N]; N]> {
        Normal { curvature: self.information, ..self.steps }.inverse()
    }
}

impl<P: Penalty> Problem<2> for Scored<'_, P> {
    type Model = Local<2>;

    #[inline]
    fn model(&self, at: &[f64; 2]) -> Option<Local<2>> {
        let s = self.sums::<false>(at[0], at[1], 0.0)?;
        let hessian = [[s.bent[0], 0.0], [s.bent[1], s.bent[2]]];
        let information = [[s.held[0], 0.0], [s.held[1], s.held[2]]];
        Some(Local::new(s.cost, s.gradient, hessian, information))
    }
}

impl<P: Penalty> Problem<3> for Scored<'_, P> {
    type Model = Local<3>;

    #[inline]
    fn model(&self, at: &[f64; 3]) -> Option<Local<3>> {
        let shift = at[0];
        let s = self.sums::<true>(at[1], at[2], shift)?;
        let matrix = |place: &[f64; 3], mixed: &[f64; 3]| {
            [[mixed[0] + self.prior, 0.0, 0.0], [mixed[1], place[0], 0.0], [mixed[2], place[1], place[2]]]
        };
        let gradient = [s.push + self.prior * shift, s.gradient[0], s.gradient[1]];
        let cost = s.cost + 0.5 * self.prior * shift * shift;
        Some(Local::new(cost, gradient, matrix(&s.bent, &s.bent_shift), matrix(&s.held, &s.held_shift)))
    }
}

/// Sums over all lines. The symmetric ones hold east-east, east-north and north-north.
pub struct Sums {
    /// The cost.
    pub cost: f64,
    /// Its derivatives by the place.
    pub gradient: [f64; 2],
    /// Its second derivatives by the place; exact.
    pub bent: [f64; 3],
    /// JᵀWJ of the place.
    pub held: [f64; 3],
    /// Derivative by the correction.
    push: f64,
    /// Second derivatives by the correction and the correction, east, north; exact.
    bent_shift: [f64; 3],
    /// The same of JᵀWJ.
    held_shift: [f64; 3],
}

impl<P: Penalty> Scored<'_, P> {
    /// The cost at a place with no correction; `None` where it is not defined.
    pub fn cost(&self, at: Vector2<f64>) -> Option<f64> {
        self.sums::<false>(at.x, at.y, 0.0).map(|s| s.cost)
    }

    /// Σ wᵢ mᵢ² with the prior of the correction.
    pub fn chi_square(&self, east: f64, north: f64, shift: f64) -> f64 {
        let at = Vector2::new(east, north);
        let lines = self.blocks.weighted().map(|(ray, keen)| {
            let d = at - ray.from;
            let (across, along) = (ray.sin * d.y - ray.cos * d.x, ray.sin * d.x + ray.cos * d.y);
            let (sin, cos) = shift.sin_cos();
            let u = keen * (across * cos + along * sin).atan2(along * cos - across * sin);
            self.penalty.share(u) * u * u
        });
        lines.sum::<f64>() + self.prior * shift * shift
    }

    /// All sums at a place; `None` within a metre of a stand and beyond the Earth. With ρ the cost of a miss m and g the
    /// derivatives of the azimuth by the place: ∇ = −Σ ρ′g, and the Hessian is Σ ρ″ggᵀ − ρ′∇²a, where the second
    /// derivatives of the azimuth are 2 gₑgₙ, gₙ² − gₑ² and −2 gₑgₙ.
    #[inline(always)]
    pub fn sums<const SHIFTED: bool>(&self, east: f64, north: f64, shift: f64) -> Option<Sums> {
        let turn = shift.sin_cos();
        let mut cost = [0.0; LANES];
        let mut first = [[0.0; LANES]; 3];
        let mut bent = [[0.0; LANES]; 6];
        let mut held = [[0.0; LANES]; 6];
        let mut nearest = f64::INFINITY;
        for block in self.blocks.all() {
            let view = block.view(east, north);
            let view = if SHIFTED { view.turned(turn) } else { view };
            let judged = self.penalty.judge(&view, &block.keen);
            nearest = nearest.min(view.nearest);
            for l in 0..LANES {
                let (ge, gn) = (view.by_east[l], view.by_north[l]);
                let (pull, bend, weight) = (judged.pull[l], judged.bend[l], judged.weight[l]);
                cost[l] += judged.cost[l];
                first[0][l] -= pull * ge;
                first[1][l] -= pull * gn;
                let (ee, en, nn) = (ge * ge, ge * gn, gn * gn);
                bent[0][l] += bend * ee - 2.0 * pull * en;
                bent[1][l] += bend * en - pull * (nn - ee);
                bent[2][l] += bend * nn + 2.0 * pull * en;
                held[0][l] += weight * ee;
                held[1][l] += weight * en;
                held[2][l] += weight * nn;
                if SHIFTED {
                    first[2][l] += pull;
                    bent[3][l] += bend;
                    bent[4][l] -= bend * ge;
                    bent[5][l] -= bend * gn;
                    held[3][l] += weight;
                    held[4][l] -= weight * ge;
                    held[5][l] -= weight * gn;
                }
            }
        }
        // Written so that a coordinate that is not a number fails, too.
        let defined = nearest > NEAREST * NEAREST && east.abs() < FARTHEST && north.abs() < FARTHEST;
        let total = |lanes: &Lanes| lanes.iter().sum::<f64>();
        let three = |lanes: &[Lanes]| [total(&lanes[0]), total(&lanes[1]), total(&lanes[2])];
        defined.then(|| Sums {
            cost: total(&cost),
            gradient: [total(&first[0]), total(&first[1])],
            push: total(&first[2]),
            bent: three(&bent[..3]),
            held: three(&held[..3]),
            bent_shift: three(&bent[3..]),
            held_shift: three(&held[3..]),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{
        super::{
            Line,
            penalty::{Gaussian, Robust, VonMises},
        },
        *,
    };
    use crate::{
        geodesy::PlanePoint,
        numeric::{
            derivative::disagreement,
            loss::{CAUCHY, HUBER, Loss, TUKEY},
        },
        units::{Angle, Sigma},
    };

    /// Seven lines, so that the last block has fillers; misses from nearly none to 40°.
    fn blocks() -> Blocks {
        let line = |(east, north, azimuth): (f64, f64, f64)| Line {
            stand: PlanePoint { east, north },
            azimuth: Angle::degrees(azimuth),
            sigma: Sigma::<Angle>::degrees(4.0).unwrap(),
        };
        let lines = [
            (0.0, 1000.0, 172.0),
            (900.0, 300.0, 250.0),
            (700.0, -700.0, 318.0),
            (-600.0, -900.0, 30.0),
            (-1000.0, 200.0, 130.0),
            (-400.0, -300.0, 75.0),
            (300.0, 800.0, 200.5),
        ];
        Blocks::new(&lines.map(line), Vector2::new(11.0, -7.0))
    }

    fn check<P: Penalty>(penalty: P, name: &str) {
        let blocks = blocks();
        let scored = Scored { blocks: &blocks, penalty, prior: 300.0 };
        let at = [0.03, 60.0, 35.0];
        let steps = [0.01, 3.0, 3.0];
        let three: Local<3> = scored.model(&at).unwrap();
        assert!(three.cupped, "{name}: a place is needed where the second derivatives are used");
        let cost = |p: &[f64; 3]| Problem::<3>::model(&scored, p).unwrap().steps.cost;
        let off = disagreement(cost, &at, &steps, &three.steps.gradient);
        assert!(off < 1e-7, "{name}: gradient {off:e}");
        for j in 0..3 {
            let slope = |p: &[f64; 3]| Problem::<3>::model(&scored, p).unwrap().steps.gradient[j];
            let row = std::array::from_fn(|k| three.steps.curvature[j.max(k)][j.min(k)]);
            let off = disagreement(slope, &at, &steps, &row);
            assert!(off < 1e-6, "{name}: row {j} of the second derivatives {off:e}");
        }
        let two: Local<2> = scored.model(&[at[1], at[2]]).unwrap();
        let still: Local<3> = scored.model(&[0.0, at[1], at[2]]).unwrap();
        assert!((two.steps.cost - still.steps.cost).abs() < 1e-12 * two.steps.cost, "{name}");
        for j in 0..2 {
            assert!((two.steps.gradient[j] / still.steps.gradient[j + 1] - 1.0).abs() < 1e-12, "{name}");
            assert!((two.information[j][j] / still.information[j + 1][j + 1] - 1.0).abs() < 1e-12, "{name}");
        }
    }

    /// Against central differences (`numeric::derivative`).
    #[test]
    fn first_and_second_derivatives_agree_with_differences() {
        check(Gaussian, "Gaussian");
        check(VonMises, "von Mises");
        check(Robust(Loss::Huber(HUBER)), "Huber");
        check(Robust(Loss::Tukey(2.0 * TUKEY)), "Tukey");
        check(Robust(Loss::Cauchy(2.0 * CAUCHY)), "Cauchy");
    }

    #[test]
    fn the_cost_is_not_defined_on_a_stand_nor_beyond_the_earth() {
        let blocks = blocks();
        let scored = Scored { blocks: &blocks, penalty: Gaussian, prior: 0.0 };
        let stand = Vector2::new(-400.0 - 11.0, -300.0 + 7.0);
        assert_eq!(scored.cost(stand), None);
        assert_eq!(scored.cost(stand + Vector2::new(0.7, 0.7)), None);
        assert!(scored.cost(stand + Vector2::new(0.8, 0.8)).is_some());
        assert_eq!(scored.cost(Vector2::new(0.0, -2.1e7)), None);
        assert_eq!(scored.cost(Vector2::new(f64::NAN, 0.0)), None);
    }
}
