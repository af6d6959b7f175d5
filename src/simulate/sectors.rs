//! Sectors of base stations that an emitter disturbs.

use crate::{
    geodesy::{Place, PlanePoint},
    numeric::{portable, random::Random},
    radio::Lobe,
    simulate::{
        Emitter, Law, Refusal,
        propagation::direction,
        receiver::stepped,
        refusal::within,
        walk::{checked_emitters, plane, scattered},
    },
    units::{Angle, Db, Dbm, Hertz, Metres},
};

/// What sectors are made from. Base stations stand high: no building is in their way, and no corner.
#[derive(Clone, Debug, PartialEq)]
pub struct SectorPlan {
    /// From it follows everything that is drawn.
    pub seed: u64,
    /// Middle of the scene's plane.
    pub centre: Place,
    /// Sites with three sectors each, 1 to 100, spread evenly around the middle.
    pub sites: usize,
    /// Least and greatest distance of a site from the middle.
    pub range: (Metres, Metres),
    /// Height of the antennas.
    pub height: Metres,
    /// Full half-power beamwidth of a sector's antenna over the horizon.
    pub beamwidth: Angle,
    /// Its front-to-back ratio.
    pub front_to_back: Db,
    /// Its gain on the axis.
    pub gain: Db,
    /// Loss of the feeder.
    pub feeder: Db,
    /// Level of the receiver without interference, in its bandwidth.
    pub floor: Dbm,
    /// Standard deviation of shadowing of each site.
    pub shadowing: Db,
    /// The frequency.
    pub frequency: Hertz,
    /// Median loss.
    pub law: Law,
    /// Who transmits. Emitters count as if they were on the air.
    pub emitters: Vec<Emitter>,
    /// Each emitter is moved to a point within this distance of its place, even in area; 0 leaves it there.
    pub scatter: Metres,
}

/// A sector and what it measures.
#[derive(Clone, Debug, PartialEq)]
pub struct SectorLevel {
    /// Name of site and sector, such as `S2-3`.
    pub name: String,
    /// Where its antenna stands.
    pub at: Place,
    /// Height of the antenna.
    pub height: Metres,
    /// Direction of its axis, clockwise from true north.
    pub azimuth: Angle,
    /// Full half-power beamwidth.
    pub beamwidth: Angle,
    /// Gain on the axis.
    pub gain: Db,
    /// Loss of the feeder.
    pub feeder: Db,
    /// Level at the receiver without interference.
    pub floor: Dbm,
    /// Level with it: the sum of the powers, to a tenth of a decibel.
    pub level: Dbm,
    /// Level over floor.
    pub rise: Db,
}

/// Sectors of `plan`, three for each site, in the order of their names.
///
/// # Errors
/// Numbers of the plan that make no sense.
pub fn sectors(plan: &SectorPlan) -> Result<Vec<SectorLevel>, Refusal> {
    checked(plan)?;
    let lobe = Lobe::new(plan.beamwidth, plan.front_to_back).ok_or_else(|| Refusal {
        what: "an antenna of sectors",
        given: format!("{} degrees", plan.beamwidth.to_degrees()),
        hint: "write a beamwidth up to 360 degrees and a front-to-back ratio above 0 dB",
    })?;
    let plane = plane(plan.centre)?;
    let emitters = scattered(&plan.emitters, plan.scatter, plan.seed);
    let mut random = Random::stream(plan.seed, 20);
    let first = random.uniform();
    let mut out = Vec::new();
    for site in 0..plan.sites {
        let around =
            std::f64::consts::TAU * (first + (site as f64 + 0.4 * random.uniform()) / plan.sites as f64);
        let far = random.between(plan.range.0.value(), plan.range.1.value());
        let (sin, cos) = portable::sin_cos(around);
        let point = PlanePoint { east: far * sin, north: far * cos };
        let at = plane.to_place(point);
        let shadowing: Vec<f64> = emitters.iter().map(|_| plan.shadowing.value() * random.normal()).collect();
        // Operators aim at multiples of ten degrees.
        let aim = 10.0 * random.index(12) as f64;
        for sector in 0..3 {
            let azimuth = Angle::degrees(aim + 120.0 * f64::from(sector)).compass();
            let power: f64 = emitters
                .iter()
                .zip(&shadowing)
                .map(|(e, s)| portable::from_db(received(plan, &lobe, e, point, azimuth) + s))
                .sum();
            let floor = portable::from_db(plan.floor.value());
            let level = Dbm::new(stepped(portable::to_db(power + floor), 0.1));
            out.push(SectorLevel {
                name: format!("S{}-{}", site + 1, sector + 1),
                at,
                height: plan.height,
                azimuth,
                beamwidth: plan.beamwidth,
                gain: plan.gain,
                feeder: plan.feeder,
                floor: plan.floor,
                level,
                rise: level - plan.floor,
            });
        }
    }
    Ok(out)
}

/// Level of an emitter at a sector's receiver.
fn received(plan: &SectorPlan, lobe: &Lobe, emitter: &Emitter, site: PlanePoint, azimuth: Angle) -> f64 {
    let flat = portable::hypot(emitter.at.east - site.east, emitter.at.north - site.north);
    let slant = portable::hypot(flat, plan.height.value() - emitter.height.value());
    let off = direction(site, emitter.at).miss_from(azimuth);
    let radiated = emitter.eirp.value() + emitter.pattern.gain(direction(emitter.at, site)).value();
    let loss = plan.law.loss(plan.frequency, Metres::new(slant)).value() + plan.feeder.value();
    radiated - loss + plan.gain.value() - lobe.attenuation(off).value()
}

fn checked(plan: &SectorPlan) -> Result<(), Refusal> {
    within("a number of sites", plan.sites as f64, 1.0..=100.0, "write 1 to 100")?;
    within("a greatest distance of sites", plan.range.1.value(), 1.0..=1e5, "write 1 to 100000 m")?;
    within(
        "a least distance of sites",
        plan.range.0.value(),
        0.0..=plan.range.1.value(),
        "write 0 m to the greatest",
    )?;
    within("a height of sites", plan.height.value(), 0.0..=1000.0, "write 0 to 1000 m")?;
    within("a gain of sectors", plan.gain.value(), -20.0..=40.0, "write -20 to 40 dBi, such as 17")?;
    within("a loss of feeders", plan.feeder.value(), 0.0..=60.0, "write 0 to 60 dB")?;
    within("a floor of sectors", plan.floor.value(), -200.0..=30.0, "write -200 to 30 dBm, such as -102")?;
    within("a shadowing", plan.shadowing.value(), 0.0..=30.0, "write 0 to 30 dB, such as 6")?;
    within("a frequency in Hz", plan.frequency.value(), 1e6..=1e11, "write 1 MHz to 100 GHz")?;
    checked_emitters(&plan.emitters, plan.scatter)?;
    plan.law.checked()
}
