//! Amounts shared out among few takers at least total cost, each taker up to its capacity.
//!
//! With squared distances as costs the parts are the cells of a power diagram whose weights are the prices found here
//! ([`crate::sources::AURENHAMMER1998`]).

/// Who takes how much of what.
#[derive(Clone, Debug, PartialEq)]
pub struct Shares {
    /// For each item the takers of it, with the amounts; amounts of one item add up to it.
    pub taken: Vec<Vec<(usize, f64)>>,
    /// Cost of the whole.
    pub cost: f64,
    /// What each taker's cost is raised by, so that every item goes only to takers whose cost plus price is least. The least
    /// price is 0.
    pub prices: Vec<f64>,
}

/// Amounts below this part of the whole are none.
const NOTHING: f64 = 1e-12;

/// The cheapest way to share `amounts` out among takers with these capacities; `cost(item, taker)` for each unit of amount. The
/// capacities must hold everything (to 1e-9 of it), all numbers must be finite and none of the amounts and capacities negative:
/// otherwise `None`.
///
/// Exact, by successive cheapest paths between takers: everything starts with its cheapest taker, which is best for the loads
/// that follow; then what is too much moves along the chain of exchanges that costs least, which keeps it best
/// ([`crate::sources::AHUJA1993`], section 9.7). At most one item for each taker but one ends up shared.
pub fn share(amounts: &[f64], capacities: &[f64], cost: impl Fn(usize, usize) -> f64) -> Option<Shares> {
    let takers = capacities.len();
    let whole: f64 = amounts.iter().sum();
    let good = |x: &f64| x.is_finite() && *x >= 0.0;
    let fits = capacities.iter().sum::<f64>() >= whole * (1.0 - 1e-9);
    if takers == 0 || !amounts.iter().all(good) || !capacities.iter().all(good) || !fits {
        return None;
    }
    let costs: Vec<Vec<f64>> =
        (0..amounts.len()).map(|i| (0..takers).map(|k| cost(i, k)).collect()).collect();
    if costs.iter().flatten().any(|c| !c.is_finite()) {
        return None;
    }
    let mut held = vec![vec![0.0; takers]; amounts.len()];
    let mut load = vec![0.0; takers];
    for (i, amount) in amounts.iter().enumerate() {
        let best = (0..takers).min_by(|a, b| costs[i][*a].total_cmp(&costs[i][*b]))?;
        held[i][best] = *amount;
        load[best] += amount;
    }
    let small = NOTHING * whole.max(f64::MIN_POSITIVE);
    // Each chain empties an item's share or fills a taker: no more are needed, and a bound costs nothing.
    for _ in 0..(takers + 1) * (amounts.len() + takers) + 64 {
        let (steps, carrier) = exchanges(&held, &costs, small);
        let Some(chain) = cheapest(&steps, &load, capacities, small) else { break };
        move_along(&chain, &carrier, &mut held, &mut load, capacities);
    }
    let prices = prices(&exchanges(&held, &costs, small).0);
    let taken: Vec<Vec<(usize, f64)>> =
        held.iter().map(|h| h.iter().copied().enumerate().filter(|(_, x)| *x > small).collect()).collect();
    let cost = held.iter().zip(&costs).flat_map(|(h, c)| h.iter().zip(c)).map(|(x, c)| x * c).sum();
    Some(Shares { taken, cost, prices })
}

/// Least cost of moving a unit from one taker to another, and the item that does it.
fn exchanges(held: &[Vec<f64>], costs: &[Vec<f64>], small: f64) -> (Vec<Vec<f64>>, Vec<Vec<usize>>) {
    let takers = costs.first().map_or(0, Vec::len);
    let mut steps = vec![vec![f64::INFINITY; takers]; takers];
    let mut carrier = vec![vec![usize::MAX; takers]; takers];
    for (i, (held, costs)) in held.iter().zip(costs).enumerate() {
        for a in (0..takers).filter(|a| held[*a] > small) {
            for b in (0..takers).filter(|b| *b != a) {
                let more = costs[b] - costs[a];
                if more < steps[a][b] {
                    steps[a][b] = more;
                    carrier[a][b] = i;
                }
            }
        }
    }
    (steps, carrier)
}

/// The cheapest chain of takers from one with too much to one with room.
fn cheapest(steps: &[Vec<f64>], load: &[f64], capacities: &[f64], small: f64) -> Option<Vec<usize>> {
    let takers = load.len();
    let mut best: Option<(f64, Vec<usize>)> = None;
    for from in (0..takers).filter(|k| load[*k] > capacities[*k] + small) {
        let (far, before) = paths(steps, from);
        for to in (0..takers).filter(|k| load[*k] < capacities[*k] - small && far[*k].is_finite()) {
            if best.as_ref().is_none_or(|(cost, _)| far[to] < *cost) {
                let mut chain = vec![to];
                while let Some(&last) = chain.last().filter(|k| **k != from) {
                    chain.push(before[last]);
                }
                chain.reverse();
                best = Some((far[to], chain));
            }
        }
    }
    best.map(|(_, chain)| chain)
}

/// Least costs from a taker, by rounds over all steps (some are negative), and the taker before each.
fn paths(steps: &[Vec<f64>], from: usize) -> (Vec<f64>, Vec<usize>) {
    let takers = steps.len();
    let (mut far, mut before) = (vec![f64::INFINITY; takers], vec![from; takers]);
    far[from] = 0.0;
    for _ in 0..takers {
        for a in 0..takers {
            for b in 0..takers {
                // A hair of slack keeps rounding from closing a circle.
                if b != from && far[a] + steps[a][b] < far[b] - 1e-9 * far[b].abs().min(1.0) {
                    far[b] = far[a] + steps[a][b];
                    before[b] = a;
                }
            }
        }
    }
    (far, before)
}

fn move_along(
    chain: &[usize],
    carrier: &[Vec<usize>],
    held: &mut [Vec<f64>],
    load: &mut [f64],
    capacities: &[f64],
) {
    let (Some(&first), Some(&last)) = (chain.first(), chain.last()) else { return };
    let mut most = (load[first] - capacities[first]).min(capacities[last] - load[last]);
    for pair in chain.windows(2) {
        most = most.min(held[carrier[pair[0]][pair[1]]][pair[0]]);
    }
    for pair in chain.windows(2) {
        let item = carrier[pair[0]][pair[1]];
        held[item][pair[0]] -= most;
        held[item][pair[1]] += most;
    }
    load[first] -= most;
    load[last] += most;
}

/// Prices under which no exchange pays: least costs to each taker from a start that reaches all at no cost.
fn prices(steps: &[Vec<f64>]) -> Vec<f64> {
    let takers = steps.len();
    let mut price = vec![0.0f64; takers];
    for _ in 0..takers {
        for a in 0..takers {
            for b in 0..takers {
                price[b] = price[b].min(price[a] + steps[a][b]);
            }
        }
    }
    // A taker that is dear to come to is one that much wants to leave: its price is high.
    let least = price.iter().map(|p| -p).fold(f64::INFINITY, f64::min);
    price.iter().map(|p| -p - least).collect()
}
