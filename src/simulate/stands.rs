//! Where people stand to take bearings.

use crate::{
    geodesy::PlanePoint,
    numeric::{portable, random::Random},
    simulate::{
        BearingPlan, Refusal, Stands, Stated, Town,
        refusal::{share, within},
    },
    units::Angle,
};

/// So often is a stand drawn anew that a street has taken out of its ring.
const ATTEMPTS: usize = 200;

/// The stands of a plan about a point.
pub(super) fn stands(plan: &BearingPlan, about: PlanePoint, random: &mut Random) -> Vec<PlanePoint> {
    let Stands::Around { range, from, width } = &plan.stands else {
        let Stands::At(points) = &plan.stands else { return Vec::new() };
        return points.clone();
    };
    let ring = (range.0.value(), range.1.value());
    let drawn = |random: &mut Random| {
        let square = random.between(ring.0 * ring.0, ring.1 * ring.1);
        let turn = Angle::radians(from.to_radians() + random.uniform() * width.to_radians());
        let (sin, cos) = portable::sin_cos(turn.to_radians());
        PlanePoint { east: about.east + square.sqrt() * sin, north: about.north + square.sqrt() * cos }
    };
    (0..plan.count)
        .map(|_| {
            let Some(town) = &plan.propagation.town else { return drawn(random) };
            let mut at = in_street(town, drawn(random));
            for _ in 0..ATTEMPTS {
                let far = portable::hypot(at.east - about.east, at.north - about.north);
                if (ring.0..=ring.1).contains(&far) {
                    break;
                }
                at = in_street(town, drawn(random));
            }
            at
        })
        .collect()
}

/// The nearest point in the middle of a street; beyond the town, the point itself.
fn in_street(town: &Town, at: PlanePoint) -> PlanePoint {
    let edge = town.street(town.plan().blocks);
    if at.east.abs() > edge || at.north.abs() > edge {
        return at;
    }
    let east = town.street(town.nearest_street(at.east));
    let north = town.street(town.nearest_street(at.north));
    if (east - at.east).abs() <= (north - at.north).abs() {
        PlanePoint { east, north: at.north }
    } else {
        PlanePoint { east: at.east, north }
    }
}

pub(super) fn checked(plan: &BearingPlan) -> Result<(), Refusal> {
    within("a number of bearings", plan.count as f64, 1.0..=10_000.0, "write 1 to 10000")?;
    match &plan.stands {
        Stands::Around { range, from, width } => {
            within("a greatest range", range.1.value(), 0.1..=1e6, "write 0.1 to 1000000 m")?;
            within("a least range", range.0.value(), 0.0..=range.1.value(), "write 0 m to the greatest")?;
            let turn = from.to_degrees();
            within("a beginning of the sector of stands", turn, -360.0..=360.0, "write -360 to 360 degrees")?;
            let hint = "write degrees above 0 and up to 360";
            within("a width of the sector of stands", width.to_degrees(), 1e-6..=360.0 + 1e-9, hint)?;
        }
        Stands::At(points) => {
            let hint = "name as many points as bearings";
            within("a number of stands", points.len() as f64, plan.count as f64..=plan.count as f64, hint)?;
            let far = "write metres within 1000000 of the scene's centre";
            for p in points {
                within("a stand's easting", p.east, -1e6..=1e6, far)?;
                within("a stand's northing", p.north, -1e6..=1e6, far)?;
            }
        }
    }
    if let Stated::Classes(classes) = &plan.stated {
        within("a number of classes", classes.len() as f64, 1.0..=1e4, "name one or more of A, B, C, D")?;
    }
    within("a factor of the stated errors", plan.factor, 0.0..=20.0, "write 0 to 20; 1 is honest")?;
    compass(plan)?;
    within("a number of teams", plan.teams as f64, 1.0..=1000.0, "write 1 to 1000")?;
    within("a number of swings", plan.swings as f64, 0.0..=100.0, "write 0 (none) to 100")?;
    within("a rounding", plan.rounding.to_degrees(), 0.0..=45.0, "write 0 (none) to 45 degrees")?;
    share("a share of foreign bearings", plan.foreign)?;
    share("a share of reversed bearings", plan.reversed)?;
    within("a shadowing", plan.shadowing.value(), 0.0..=30.0, "write 0 to 30 dB, such as 6")?;
    within("a noise power", plan.noise.value(), -200.0..=30.0, "write -200 to 30 dBm, such as -120")?;
    within("a height of the antenna", plan.height.value(), 0.0..=1e3, "write 0 to 1000 m")?;
    plan.positioning.checked()?;
    plan.propagation.checked()
}

fn compass(plan: &BearingPlan) -> Result<(), Refusal> {
    let c = &plan.compass;
    within(
        "a common error of the compasses",
        c.common.to_degrees(),
        -180.0..=180.0,
        "write -180 to 180 degrees",
    )?;
    let hint = "write a standard deviation of 0 to 90 degrees";
    within("an error of a team's compass", c.team.to_degrees(), 0.0..=90.0, hint)?;
    within("a local pull", c.pull.to_degrees(), 0.0..=90.0, hint)?;
    let turn = plan.declination.map_or(0.0, Angle::to_degrees);
    within("a declination", turn, -180.0..=180.0, "write -180 to 180 degrees, east positive")?;
    share("a share of pulled compasses", c.pulled)
}
