//! Sectors that read well and still tell nothing, or not what one thinks: all raised alike, one site, one side of a mast,
//! the same sector twice.

use std::collections::HashMap;

use crate::{
    check::positions::{middle, misplaced},
    finding::{Finding, Severity},
    geodesy::{Place, Plane},
    north::TrueSector,
    observe::Level,
};

/// A rise below this is not told from none: floors wander. Common practice, no source.
const RAISED_DB: f64 = 1.0;

/// An emitter in one place cannot raise sectors that look away from one another, or stand at several sites, within this of
/// one another: antennas tell front from back by 20 dB and more (front-to-back of 3GPP TR 38.901, 30 dB; common practice).
const ALIKE_DB: f64 = 3.0;

/// With fewer sectors nothing is called alike.
const FEWEST_ALIKE: usize = 3;

/// Sectors within this distance hang on one mast. Common practice, no source.
const ONE_SITE_M: f64 = 100.0;

/// A mast whose neighbouring azimuths lie further apart than this looks to one side only.
const ONE_SIDED_DEGREES: f64 = 180.0;

/// Names of sites in one finding; more are counted.
const MOST_NAMES: usize = 5;

/// Sectors that can be used, and what there is to tell.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CheckedSectors {
    /// Those not set aside, in the order given.
    pub usable: Vec<TrueSector>,
    /// Doubts and refusals.
    pub findings: Vec<Finding>,
}

/// Sets aside misplaced sectors (as [`crate::check::positions`] does stands) and rows that repeat a sector, and doubts the
/// rest as a whole: nothing heard, all raised alike, one site, masts that look to one side.
pub fn sectors(sectors: Vec<TrueSector>) -> CheckedSectors {
    let mut out = CheckedSectors::default();
    let placed = placed(sectors, &mut out.findings);
    out.usable = once(placed, &mut out.findings);
    out.findings.extend(nothing_heard(&out.usable));
    let sites = sites(&out.usable);
    out.findings.extend(alike(&out.usable, &sites));
    out.findings.extend(one_site(&out.usable, &sites));
    out.findings.extend(one_sided(&out.usable, &sites));
    out
}

fn placed(sectors: Vec<TrueSector>, findings: &mut Vec<Finding>) -> Vec<TrueSector> {
    let places: Vec<Place> = sectors.iter().map(|s| s.sector().at).collect();
    let Some(centre) = (places.len() >= 3).then(|| middle(&places)).flatten() else { return sectors };
    let keep = |sector: &TrueSector| {
        let read = sector.sector();
        let found = misplaced(read.at, &format!("sector {}", read.id), &read.origin(), centre);
        let refused = found.as_ref().is_some_and(|f| f.severity == Severity::Refused);
        findings.extend(found);
        !refused
    };
    let mut keep = keep;
    sectors.into_iter().filter(|s| keep(s)).collect()
}

/// Of rows with the same place, azimuth and beamwidth to the last digit, that with the strongest interference.
fn once(sectors: Vec<TrueSector>, findings: &mut Vec<Finding>) -> Vec<TrueSector> {
    let mut kept: Vec<TrueSector> = Vec::new();
    let mut seen: HashMap<[u64; 4], usize> = HashMap::new();
    let (mut repeats, mut first) = (0, None);
    for sector in sectors {
        let (azimuth, width) =
            sector.axis().map_or((f64::NAN, f64::NAN), |(a, w)| (a.to_radians(), w.to_radians()));
        let at = sector.sector().at;
        let key = [at.lat_degrees(), at.lon_degrees(), azimuth, width].map(f64::to_bits);
        match seen.get(&key) {
            Some(index) => {
                repeats += 1;
                first.get_or_insert_with(|| sector.sector().origin());
                if strength(&sector) > strength(&kept[*index]) {
                    kept[*index] = sector;
                }
            }
            None => {
                seen.insert(key, kept.len());
                kept.push(sector);
            }
        }
    }
    findings.extend(first.map(|at| {
        let message = format!(
            "{repeats} row(s) repeat a sector: of each sector the row with the strongest interference is used"
        );
        let hint = "give one row for each sector, all of the same hour in which the emitter was on";
        Finding::doubtful("sector-repeated", message).at(at).hint(hint)
    }));
    kept
}

/// Interference, or just below the level that it stays below.
fn strength(sector: &TrueSector) -> f64 {
    match sector.sector().interference {
        Level::Measured(level) => level.value(),
        Level::BelowFloor(limit) => limit.value() - 100.0,
        Level::OffAir => f64::NEG_INFINITY,
    }
}

/// Indices of the sectors of each mast.
fn sites(sectors: &[TrueSector]) -> Vec<Vec<usize>> {
    let places: Vec<Place> = sectors.iter().map(|s| s.sector().at).collect();
    let Some(plane) = Plane::centred_on(&places) else { return vec![(0..sectors.len()).collect()] };
    let mut sites: Vec<(f64, f64, Vec<usize>)> = Vec::new();
    for (index, place) in places.into_iter().enumerate() {
        let at = plane.to_plane(place);
        match sites.iter_mut().find(|s| (s.0 - at.east).hypot(s.1 - at.north) < ONE_SITE_M) {
            Some(site) => site.2.push(index),
            None => sites.push((at.east, at.north, vec![index])),
        }
    }
    sites.into_iter().map(|s| s.2).collect()
}

/// Whether a sector hears the interference: by its rise, or where that is not known by its having a level at all.
fn raised(sector: &TrueSector) -> bool {
    let read = sector.sector();
    let measured = read.interference.measured().is_some();
    read.rise.map_or(measured, |r| measured && r.value() >= RAISED_DB)
}

fn nothing_heard(sectors: &[TrueSector]) -> Option<Finding> {
    let first = sectors.first().filter(|_| !sectors.iter().any(raised))?;
    let message = format!("no sector is raised by {RAISED_DB:.0} dB or more: they tell nothing of a place");
    let hint = "take the hours in which the interference was there";
    Some(Finding::doubtful("nothing-heard", message).at(first.sector().origin()).hint(hint))
}

fn alike(sectors: &[TrueSector], sites: &[Vec<usize>]) -> Option<Finding> {
    let rises: Vec<f64> = sectors.iter().filter_map(|s| s.sector().rise).map(|r| r.value()).collect();
    let all = rises.len() == sectors.len() && rises.len() >= FEWEST_ALIKE && sectors.iter().all(raised);
    let low = rises.iter().copied().fold(f64::INFINITY, f64::min);
    let high = rises.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let everywhere = || sites.len() > 1 || sites.iter().all(|s| widest_gap(sectors, s) <= ONE_SIDED_DEGREES);
    if !(all && high - low < ALIKE_DB && everywhere()) {
        return None;
    }
    let message = format!(
        "all {} sectors of {} site(s) are raised alike, by {low:.1} to {high:.1} dB, whichever way they look: that is not one place",
        rises.len(),
        sites.len()
    );
    let hint = "look at your own system or timing first: intermodulation of your own carriers, a neighbour out of synchronism, a fault that all have in common";
    Some(Finding::doubtful("sectors-alike", message).at(sectors.first()?.sector().origin()).hint(hint))
}

fn one_site(sectors: &[TrueSector], sites: &[Vec<usize>]) -> Option<Finding> {
    let first = sectors.first().filter(|_| sites.len() == 1 && sectors.iter().any(raised))?;
    let message = "all sectors are of one site: they tell a direction, and not how far";
    let hint = "add the sectors of the sites around it, also those that hear nothing";
    Some(Finding::doubtful("one-site", message).at(first.sector().origin()).hint(hint))
}

/// Greatest angle between neighbouring azimuths of a mast, degrees; zero where one antenna looks in all directions.
fn widest_gap(sectors: &[TrueSector], site: &[usize]) -> f64 {
    let mut azimuths = Vec::new();
    for index in site {
        let Some((azimuth, _)) = sectors[*index].axis() else { return 0.0 };
        azimuths.push(azimuth.compass().to_degrees());
    }
    azimuths.sort_by(f64::total_cmp);
    let Some(first) = azimuths.first().copied() else { return 360.0 };
    azimuths.push(first + 360.0);
    azimuths.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max)
}

fn one_sided(sectors: &[TrueSector], sites: &[Vec<usize>]) -> Option<Finding> {
    let with: Vec<&Vec<usize>> = sites
        .iter()
        .filter(|s| s.iter().any(|i| raised(&sectors[*i])) && widest_gap(sectors, s) > ONE_SIDED_DEGREES)
        .collect();
    let first = sectors.get(*with.first()?.first()?)?;
    let name = |site: &Vec<usize>| sectors[site[0]].sector().id.clone();
    let mut names: Vec<String> = with.iter().take(MOST_NAMES).map(|s| name(s)).collect();
    if with.len() > MOST_NAMES {
        names.push(format!("{} more", with.len() - MOST_NAMES));
    }
    let message = format!(
        "{} mast(s) have sectors to one side only ({}): the direction from there is no better than the beam",
        with.len(),
        names.join(", ")
    );
    let hint = "add the other sectors of the mast: that they hear nothing is what tells the direction";
    Some(Finding::doubtful("sectors-one-sided", message).at(first.sector().origin()).hint(hint))
}
