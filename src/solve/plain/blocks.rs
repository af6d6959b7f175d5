//! The lines as blocks of plain numbers that lie side by side, and what a block looks like from a place.

use nalgebra::Vector2;

use crate::solve::{cut::Ray, plain::Line};

/// How many lines are evaluated side by side.
pub const LANES: usize = 4;

/// One figure for each line of a block.
pub type Lanes = [f64; LANES];

/// A place nearer to a stand than this, in metres, is no place: an error of a step turns its azimuth by radians.
pub const NEAREST: f64 = 1.0;

/// Beyond this distance from the stands, in metres, there is no more Earth.
pub const FARTHEST: f64 = 2e7;

/// A few lines side by side; fillers repeat a line with no weight.
#[derive(Clone, Copy, Debug)]
pub struct Block {
    /// Stands, metres east of the middle.
    pub east: Lanes,
    /// Stands, metres north of the middle.
    pub north: Lanes,
    /// Sines of the azimuths.
    pub sin: Lanes,
    /// Cosines of the azimuths.
    pub cos: Lanes,
    /// 1/σ, per radian; zero in a filler.
    pub keen: Lanes,
}

/// All lines.
#[derive(Clone, Debug)]
pub struct Blocks {
    all: Vec<Block>,
    lines: usize,
}

/// A block as seen from a place.
pub struct View {
    /// r sin m, with m the miss and r the distance.
    pub across: Lanes,
    /// r cos m.
    pub along: Lanes,
    /// 1/r².
    pub inverse_square: Lanes,
    /// Change of the azimuth by metre east.
    pub by_east: Lanes,
    /// Change of the azimuth by metre north.
    pub by_north: Lanes,
    /// The least r².
    pub nearest: f64,
}

impl Blocks {
    /// Lays out the lines about `centre`.
    pub fn new(lines: &[Line], centre: Vector2<f64>) -> Self {
        let all = lines.chunks(LANES).map(|chunk| block(chunk, centre)).collect();
        Self { all, lines: lines.len() }
    }

    /// The blocks.
    pub fn all(&self) -> &[Block] {
        &self.all
    }

    /// How many lines there are.
    pub const fn lines(&self) -> usize {
        self.lines
    }

    /// Each line as a ray with its 1/σ, about the middle.
    pub fn weighted(&self) -> impl Iterator<Item = (Ray, f64)> + '_ {
        self.all.iter().flat_map(|b| (0..LANES).map(move |l| (b, l))).take(self.lines).map(|(b, l)| {
            let from = Vector2::new(b.east[l], b.north[l]);
            (Ray { from, sin: b.sin[l], cos: b.cos[l] }, b.keen[l])
        })
    }

    /// Each line as a ray.
    pub fn rays(&self) -> impl Iterator<Item = Ray> + '_ {
        self.weighted().map(|(ray, _)| ray)
    }

    /// Distance to the nearest stand.
    pub fn nearest(&self, east: f64, north: f64) -> f64 {
        let at = Vector2::new(east, north);
        self.rays().map(|r| (at - r.from).norm()).fold(f64::INFINITY, f64::min)
    }
}

fn block(lines: &[Line], centre: Vector2<f64>) -> Block {
    let line = |l: usize| lines.get(l).unwrap_or(&lines[0]);
    let turns: [(f64, f64); LANES] = std::array::from_fn(|l| line(l).azimuth.to_radians().sin_cos());
    Block {
        east: std::array::from_fn(|l| line(l).stand.east - centre.x),
        north: std::array::from_fn(|l| line(l).stand.north - centre.y),
        sin: turns.map(|t| t.0),
        cos: turns.map(|t| t.1),
        keen: std::array::from_fn(|l| lines.get(l).map_or(0.0, |line| 1.0 / line.sigma.to_radians())),
    }
}

impl Block {
    /// The view from a place. The azimuth a = atan2(Δe, Δn) has derivatives Δn/r² and −Δe/r².
    #[inline(always)]
    pub fn view(&self, east: f64, north: f64) -> View {
        let mut view = View {
            across: [0.0; LANES],
            along: [0.0; LANES],
            inverse_square: [0.0; LANES],
            by_east: [0.0; LANES],
            by_north: [0.0; LANES],
            nearest: f64::INFINITY,
        };
        for l in 0..LANES {
            let (de, dn) = (east - self.east[l], north - self.north[l]);
            let square = de * de + dn * dn;
            let inverse = 1.0 / square;
            view.across[l] = self.sin[l] * dn - self.cos[l] * de;
            view.along[l] = self.sin[l] * de + self.cos[l] * dn;
            view.inverse_square[l] = inverse;
            view.by_east[l] = dn * inverse;
            view.by_north[l] = -de * inverse;
            view.nearest = view.nearest.min(square);
        }
        view
    }
}

impl View {
    /// The same view with all azimuths turned clockwise by the angle of this sine and cosine.
    #[inline(always)]
    pub fn turned(mut self, (sin, cos): (f64, f64)) -> Self {
        for l in 0..LANES {
            let (across, along) = (self.across[l], self.along[l]);
            self.across[l] = across * cos + along * sin;
            self.along[l] = along * cos - across * sin;
        }
        self
    }
}
