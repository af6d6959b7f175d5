//! Eight parts of street grids that grow, with a walk for each part.

use azimark::{
    divide::{
        Net, Stretch, apart, balance,
        route::{Begin, walk},
    },
    geodesy::PlanePoint,
    numeric::random::Random,
    units::Metres,
};
use divan::{Bencher, black_box};

/// Sides of the grids: about 150, 600, 1,200, 2,500 and 5,000 stretches.
const SIDES: [usize; 5] = [9, 18, 25, 36, 51];

fn main() {
    divan::main();
}

/// A bent grid with a hill of probability in its middle and every tenth stretch gone.
fn grid(side: usize) -> Net {
    let mut random = Random::seeded(5);
    let mut net = Net::default();
    for i in 0..side * side {
        let mut at = |n: usize| 100.0 * (n as f64 + random.between(-0.2, 0.2));
        let (east, north) = (at(i % side), at(i / side));
        net.corners.push(PlanePoint { east, north });
    }
    for i in 0..side * side {
        let (column, row) = (i % side, i / side);
        let right = (column + 1 < side && (row == 0 || !random.happens(0.1))).then_some(i + 1);
        let up = (row + 1 < side && (column == 0 || !random.happens(0.1))).then_some(i + side);
        for to in [right, up].into_iter().flatten() {
            let line = vec![net.corners[i], net.corners[to]];
            let length = apart(line[0], line[1]);
            let extent = 100.0 * side as f64;
            let off = apart(line[0], PlanePoint { east: 0.5 * extent, north: 0.5 * extent }) / (0.3 * extent);
            let probability = length * (-0.5 * off * off).exp();
            let (name, length, minutes) = (String::new(), Metres::new(length), length / 80.0);
            net.stretches.push(Stretch {
                name,
                ends: [i, to],
                length,
                minutes,
                probability,
                line,
                crossing: false,
            });
        }
    }
    net
}

#[divan::bench(args = SIDES, sample_count = 5)]
fn parts(bencher: Bencher, side: usize) {
    let pieces = grid(side).pieces();
    bencher.bench(|| balance(black_box(&pieces), 8, 1).unwrap());
}

#[divan::bench(args = SIDES, sample_count = 5)]
fn walks(bencher: Bencher, side: usize) {
    let net = grid(side);
    let part = balance(&net.pieces(), 8, 1).unwrap();
    let own = |k: u32| (0..part.len()).filter(|i| part[*i] == k).collect::<Vec<usize>>();
    let parts: Vec<Vec<usize>> = (0..8).map(own).collect();
    bencher
        .bench(|| parts.iter().map(|p| walk(&net, p, Begin::Anywhere).unwrap().steps.len()).sum::<usize>());
}
