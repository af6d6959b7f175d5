//! Grids of the EPSG register, by PROJ, where the build has it.

#[cfg(feature = "epsg")]
mod register {
    use std::cell::RefCell;

    use proj::Proj;
    use serde_json::Value;

    use crate::{
        geodesy::{FromGrid, GridError, Place, course},
        units::Angle,
    };

    /// Beyond this many degrees outside of the area that a grid was made for, a position is taken for an error. Grids are
    /// used beyond their area, but swapped coordinates or those of another grid come to lie farther off than that.
    const MARGIN_DEGREES: f64 = 5.0;

    /// Grids kept open; no case needs more.
    const MOST_OPEN: usize = 16;

    thread_local! {
        /// Opening a grid costs 5 to 40 ms, converting a position 10 µs. Nothing depends on what is in here.
        static OPEN: RefCell<Vec<(u32, Result<Grid, GridError>)>> = const { RefCell::new(Vec::new()) };
    }

    /// A grid with the ways to WGS 84 and back.
    struct Grid {
        code: u32,
        there: Proj,
        back: Proj,
        unit: f64,
        /// West, south, east and north of the area that it was made for; west is greater across 180°.
        area: Option<[f64; 4]>,
    }

    pub fn place(code: u32, easting: f64, northing: f64) -> Result<FromGrid, GridError> {
        with(code, |grid| grid.place(easting, northing))
    }

    pub fn convergence(code: u32, at: Place) -> Result<Angle, GridError> {
        with(code, |grid| grid.convergence(at))
    }

    fn with<T>(code: u32, work: impl Fn(&Grid) -> Result<T, GridError>) -> Result<T, GridError> {
        OPEN.with_borrow_mut(|open| {
            if !open.iter().any(|(known, _)| *known == code) {
                open.truncate(MOST_OPEN - 1);
                open.insert(0, (code, Grid::open(code)));
            }
            let found = open.iter().find(|(known, _)| *known == code);
            match found.map(|(_, grid)| grid) {
                Some(Ok(grid)) => work(grid),
                Some(Err(error)) => Err(error.clone()),
                None => Err(GridError::UnknownCode(code)),
            }
        })
    }

    impl Grid {
        /// The register also has systems of degrees, of heights and of space, and grids that count south or west.
        fn open(code: u32) -> Result<Self, GridError> {
            let unknown = || GridError::UnknownCode(code);
            let name = format!("EPSG:{code}");
            let described = Proj::new(&name).ok().and_then(|crs| crs.to_projjson(None, None, None).ok());
            let about: Value = described.and_then(|d| serde_json::from_str(&d).ok()).ok_or_else(unknown)?;
            let axes = about.pointer("/coordinate_system/axis").and_then(Value::as_array);
            let points = |way: &str| axes.is_some_and(|a| a.iter().any(|axis| axis["direction"] == way));
            if about["type"] != "ProjectedCRS" || !points("east") || !points("north") {
                return Err(unknown());
            }
            let unit = match &axes.ok_or_else(unknown)?[0]["unit"] {
                Value::String(name) if name == "metre" => 1.0,
                unit => unit["conversion_factor"].as_f64().ok_or_else(unknown)?,
            };
            let side = |name: &str| about["bbox"][name].as_f64();
            let sides = ["west_longitude", "south_latitude", "east_longitude", "north_latitude"].map(side);
            let area = sides.iter().all(Option::is_some).then(|| sides.map(Option::unwrap_or_default));
            let way = |from: &str, to: &str| Proj::new_known_crs(from, to, None).map_err(|_| unknown());
            Ok(Self { code, there: way(&name, "EPSG:4326")?, back: way("EPSG:4326", &name)?, unit, area })
        }

        fn place(&self, easting: f64, northing: f64) -> Result<FromGrid, GridError> {
            let outside = GridError::Outside(self.code);
            let found = self.there.convert((easting, northing));
            let place = found.ok().and_then(|(lon, lat)| Place::from_lat_lon_degrees(lat, lon));
            let place = place.filter(|p| self.covers(*p)).ok_or(outside)?;
            // Only now does the library say which of several operations it took. An unknown accuracy is -1, and stands
            // for an operation that leaves the datum out: hundreds of metres.
            let info = self.there.proj_info();
            if !(0.0..).contains(&info.accuracy) {
                return Err(GridError::NoOperation(self.code));
            }
            let operation = info.description.unwrap_or_default();
            Ok(FromGrid { place, operation, accuracy: info.accuracy, unit: self.unit })
        }

        fn covers(&self, place: Place) -> bool {
            let Some([west, south, east, north]) = self.area else { return true };
            let width = (east - west).rem_euclid(360.0);
            let whole = width == 0.0 || width + 2.0 * MARGIN_DEGREES >= 360.0;
            let across = (place.lon_degrees() - west + MARGIN_DEGREES).rem_euclid(360.0);
            (south - MARGIN_DEGREES..=north + MARGIN_DEGREES).contains(&place.lat_degrees())
                && (whole || across <= width + 2.0 * MARGIN_DEGREES)
        }

        fn convergence(&self, at: Place) -> Result<Angle, GridError> {
            let found = self.back.convert((at.lon_degrees(), at.lat_degrees()));
            let (e, n) = found.map_err(|_| GridError::Outside(self.code))?;
            // A hundred metres of northing, the stand in their middle, where the line has the mean of its azimuths.
            let step = 50.0 / self.unit;
            let south = self.place(e, n - step)?.place;
            let along = course(south, self.place(e, n + step)?.place);
            let bend = along.arrival.miss_from(along.departure).to_radians();
            Ok(along.departure.turned(Angle::radians(bend / 2.0)).wrapped())
        }
    }
}

#[cfg(not(feature = "epsg"))]
mod register {
    use crate::{
        geodesy::{FromGrid, GridError, Place},
        units::Angle,
    };

    pub fn place(_: u32, _: f64, _: f64) -> Result<FromGrid, GridError> {
        Err(GridError::NotBuiltIn)
    }

    pub fn convergence(_: u32, _: Place) -> Result<Angle, GridError> {
        Err(GridError::NotBuiltIn)
    }
}

pub use register::{convergence, place};
