//! How many parts can be even at most.

use crate::divide::{balance::EVEN_ENOUGH, pieces::Pieces};

/// No division into more connected parts than this is even within [`EVEN_ENOUGH`]; counted up to `enough`, and not further.
///
/// A part whose probability per minute is near that of the whole holds a piece that is near it too, or one above and one below. In the
/// second case it holds two such pieces that touch, since it is connected. Parts share no piece: so there are no more of them than pieces
/// near the mean and pairs of touching pieces, one above and one below, no piece in two pairs. The most such pairs are found by
/// augmenting paths ([`crate::sources::BERGE1957`]).
pub fn most_even(pieces: &Pieces, enough: usize) -> usize {
    let mean = pieces.probability_per_minute();
    if mean <= 0.0 {
        return enough;
    }
    let rate = |i: usize| pieces.all()[i].probability / pieces.all()[i].minutes / mean - 1.0;
    let near = (0..pieces.len()).filter(|i| rate(*i).abs() <= EVEN_ENOUGH).count();
    let mut mate = vec![None; pieces.len()];
    let mut pairs = 0;
    for above in (0..pieces.len()).filter(|i| rate(*i) > EVEN_ENOUGH) {
        if near + pairs >= enough {
            break;
        }
        let below = |j: usize| rate(j) < -EVEN_ENOUGH;
        pairs += usize::from(paired(pieces, above, &below, &mut mate));
    }
    (near + pairs).min(enough)
}

/// Pairs one more piece above the mean, the pairs so far changed where that is needed.
fn paired(pieces: &Pieces, above: usize, below: &dyn Fn(usize) -> bool, mate: &mut [Option<usize>]) -> bool {
    // Breadth first, so that long streets need no deep recursion: `by` tells from which piece above each piece below was reached.
    let mut by: Vec<Option<usize>> = vec![None; pieces.len()];
    let mut next = vec![above];
    let mut at = 0;
    while let Some(&from) = next.get(at) {
        at += 1;
        for &(j, _) in pieces.touching(from) {
            let j = j as usize;
            if by[j].is_some() || !below(j) {
                continue;
            }
            by[j] = Some(from);
            match mate[j] {
                Some(taken) => next.push(taken),
                None => {
                    // Back to the first: each piece above takes the one below through which the way went on.
                    let mut free = Some(j);
                    while let Some(b) = free {
                        let a = by[b];
                        free = (0..mate.len()).find(|k| mate[*k] == a);
                        mate[b] = a;
                    }
                    return true;
                }
            }
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{divide::pieces::Piece, geodesy::PlanePoint};

    /// Pieces of one minute each with these probabilities.
    fn pieces(probability: &[f64], touching: &[(usize, usize)]) -> Pieces {
        let at = PlanePoint { east: 0.0, north: 0.0 };
        let mut out =
            Pieces::new(probability.iter().map(|p| Piece { at, minutes: 1.0, probability: *p }).collect());
        touching.iter().for_each(|(a, b)| out.touch(*a, *b, 1.0));
        out
    }

    /// On one line of streets a hill without a slope is left on two sides.
    #[test]
    fn a_steep_hill_on_one_line_allows_two_even_parts() {
        let line: Vec<(usize, usize)> = (0..7).map(|i| (i, i + 1)).collect();
        let hill = pieces(&[1.0, 1.0, 1.0, 9.0, 9.0, 1.0, 1.0, 1.0], &line);
        assert_eq!(most_even(&hill, 8), 2);
        // Pieces near the mean could be parts of their own.
        let slope = pieces(&[2.0, 1.0, 2.0, 4.0, 4.0, 1.0, 1.0, 1.0], &line);
        assert_eq!(most_even(&slope, 8), 3);
        assert_eq!(most_even(&slope, 2), 2);
        assert_eq!(most_even(&pieces(&[0.0; 8], &line), 8), 8, "nothing is even everywhere");
    }

    /// A star: its one likely street touches all others, and can be in one part only. Pairs are changed where a later one needs it.
    #[test]
    fn pairs_share_no_piece() {
        let star: Vec<(usize, usize)> = (1..6).map(|i| (0, i)).collect();
        assert_eq!(most_even(&pieces(&[9.0, 1.0, 1.0, 1.0, 1.0, 1.0], &star), 8), 1);
        // Above: 0 touches 2 and 3, 1 touches 2 alone; whoever is first, both are paired.
        for swap in [false, true] {
            let (a, b) = if swap { (1, 0) } else { (0, 1) };
            let net = pieces(&[9.0, 9.0, 1.0, 1.0], &[(a, 2), (a, 3), (b, 2)]);
            assert_eq!(most_even(&net, 8), 2);
        }
    }
}
