//! Which column is which: header names in four languages, with the units and the north that they carry.

use crate::ingest::NorthLabel;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// Identifier of the bearing.
    Id,
    /// Team or instrument.
    Team,
    /// Date and time, UTC or with an offset of its own.
    Time,
    /// Name of the stand.
    Place,
    /// Latitude.
    Latitude,
    /// Longitude.
    Longitude,
    /// Easting in a grid.
    Easting,
    /// Northing in a grid.
    Northing,
    /// UTM zone of easting and northing.
    Zone,
    /// EPSG code of easting and northing.
    Epsg,
    /// Position in one cell: latitude and longitude, UTM, or a grid square.
    Position,
    /// Horizontal dilution of precision.
    Hdop,
    /// Standard deviation of the position, metres.
    PositionSigma,
    /// A single swing.
    Swing,
    /// The bearing.
    Bearing,
    /// Which north.
    North,
    /// Standard deviation of the bearing, degrees.
    Sigma,
    /// Operator's class.
    Class,
    /// Front level, dBm.
    Front,
    /// Back level, dBm.
    Back,
    /// Antenna height, metres.
    Height,
    /// Frequency, MHz.
    Frequency,
    /// Remarks.
    Remarks,
}

/// Names by which a column is recognised: lower case, without units, `_` and `-` as blanks. German, French and Spanish
/// names also without their marks, as keyboards lack them.
const NAMES: [(Field, &[&str]); 23] = [
    (Field::Id, &["id", "nr", "no", "number", "nummer", "numero", "numéro", "número", "num"]),
    (Field::Team, &["team", "observer", "trupp", "équipe", "equipe", "equipo", "instrument"]),
    (
        Field::Time,
        &[
            "time",
            "time utc",
            "datetime",
            "date",
            "zeit",
            "uhrzeit",
            "uhrzeit lokal",
            "datum",
            "heure",
            "hora",
            "fecha",
            "local time",
            "time local",
        ],
    ),
    (
        Field::Place,
        &["place", "stand", "name", "location", "ort", "standort", "lieu", "lugar", "station", "site"],
    ),
    (Field::Latitude, &["lat", "latitude", "lat wgs84", "breite", "geographische breite", "latitud"]),
    (
        Field::Longitude,
        &[
            "lon",
            "long",
            "lng",
            "longitude",
            "lon wgs84",
            "länge",
            "laenge",
            "geographische länge",
            "longitud",
        ],
    ),
    (Field::Easting, &["easting", "east", "e", "x", "rechtswert", "ostwert", "este", "coordonnée x"]),
    (Field::Northing, &["northing", "n", "y", "hochwert", "nordwert", "coordonnée y"]),
    (Field::Zone, &["zone", "utm zone", "huso", "fuseau"]),
    (Field::Epsg, &["epsg", "epsg code", "crs"]),
    (
        Field::Position,
        &[
            "position",
            "posición",
            "posicion",
            "coordinates",
            "coords",
            "koordinaten",
            "coordonnées",
            "coordenadas",
            "lat lon",
            "mgrs",
            "grid reference",
            "grid ref",
            "utm",
        ],
    ),
    (Field::Hdop, &["hdop"]),
    (Field::PositionSigma, &["position sigma", "sigma position", "gps sigma", "position error"]),
    (
        Field::Bearing,
        &[
            "bearing",
            "azimuth",
            "azimut",
            "peilung",
            "relèvement",
            "relevement",
            "gisement",
            "rumbo",
            "marcación",
            "marcacion",
            "demora",
        ],
    ),
    (Field::North, &["north reference", "north", "nord", "norte", "bezug", "nordbezug", "référence du nord"]),
    (Field::Sigma, &["sigma", "bearing sigma", "sigma bearing"]),
    (Field::Class, &["class", "operator class", "bearing class", "klasse", "peilklasse", "classe", "clase"]),
    (Field::Front, &["front", "front level", "level", "pegel", "niveau", "nivel", "avant", "vorn", "frente"]),
    (Field::Back, &["back", "back level", "rückseite", "hinten", "arrière", "arriere", "atrás", "atras"]),
    (
        Field::Height,
        &[
            "height",
            "antenna height",
            "antenna height agl",
            "antenna height m agl",
            "antennenhöhe",
            "höhe",
            "hauteur",
            "altura",
        ],
    ),
    (Field::Frequency, &["frequency", "freq", "frequenz", "fréquence", "frequence", "frecuencia"]),
    (
        Field::Remarks,
        &[
            "remarks",
            "remark",
            "comment",
            "comments",
            "notes",
            "note",
            "bemerkung",
            "bemerkungen",
            "remarque",
            "remarques",
            "observaciones",
            "notas",
            "kommentar",
            "commentaire",
        ],
    ),
    (Field::Swing, &["swing"]),
];

/// Units a header may carry as its last word or in brackets, with the factor to degrees, metres, megahertz or decibels.
/// A gon is a four-hundredth of a turn; a mil is taken as a 6,400th, the artillery's.
const UNITS: [(&str, f64); 20] = [
    ("deg", 1.0),
    ("°", 1.0),
    ("degrees", 1.0),
    ("gon", 0.9),
    ("mil", 360.0 / 6400.0),
    ("mils", 360.0 / 6400.0),
    ("rad", 180.0 / std::f64::consts::PI),
    ("m", 1.0),
    ("meter", 1.0),
    ("ft", 0.3048),
    ("feet", 0.3048),
    ("km", 1000.0),
    ("hz", 1e-6),
    ("khz", 1e-3),
    ("mhz", 1.0),
    ("ghz", 1e3),
    ("dbm", 1.0),
    ("db", 1.0),
    ("utc", 1.0),
    ("wgs84", 1.0),
];

/// The header of a file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Columns {
    /// Field and position of every recognised column.
    pub found: Vec<(Field, usize)>,
    /// The north that the bearing's header names.
    pub north: Option<NorthLabel>,
    /// Headers as written.
    pub headers: Vec<String>,
    factors: Vec<f64>,
    /// Recognised columns whose unit is not known, with that unit.
    pub strange: Vec<(usize, String)>,
}

impl Columns {
    /// Recognises a header.
    pub fn of(headers: &[String]) -> Self {
        let mut out = Self { headers: headers.to_vec(), ..Self::default() };
        for (index, header) in headers.iter().enumerate() {
            let (name, unit) = taken_apart(header);
            let (field, north) = field(&name);
            let factor = unit.as_deref().map(|u| UNITS.iter().find(|(n, _)| *n == u).map(|(_, f)| *f));
            out.factors.push(factor.flatten().unwrap_or(1.0));
            let Some(field) = field else { continue };
            if field != Field::Swing && out.at(field).is_some() {
                continue;
            }
            out.found.push((field, index));
            if let (Some(None), Some(unit)) = (factor, unit) {
                out.strange.push((index, unit));
            }
            if field == Field::Bearing {
                out.north = north;
            }
        }
        out
    }

    /// Position of a field's column.
    pub fn at(&self, field: Field) -> Option<usize> {
        self.found.iter().find(|(f, _)| *f == field).map(|(_, i)| *i)
    }

    /// Positions of the swings.
    pub fn swings(&self) -> impl Iterator<Item = usize> + '_ {
        self.found.iter().filter(|(f, _)| *f == Field::Swing).map(|(_, i)| *i)
    }

    /// Factor that brings a column's numbers to degrees, metres, megahertz or decibels.
    pub fn factor(&self, index: usize) -> f64 {
        self.factors.get(index).copied().unwrap_or(1.0)
    }
}

/// Name and unit of a header: lower case, single blanks; the unit is what stands in brackets, else a last word that is
/// one.
fn taken_apart(header: &str) -> (String, Option<String>) {
    let mut depth = 0;
    let (mut name, mut inside) = (String::new(), String::new());
    for c in header.trim_start_matches('\u{feff}').chars() {
        match c {
            '[' | '(' => depth += 1,
            ']' | ')' => depth = (depth - 1).max(0),
            _ if depth > 0 => inside.extend(c.to_lowercase()),
            '_' | '-' | ' ' | '\t' | '.' => name.push(' '),
            _ => name.extend(c.to_lowercase()),
        }
    }
    let mut words: Vec<&str> = name.split_whitespace().collect();
    let mut unit = Some(inside.trim().to_owned()).filter(|u| !u.is_empty());
    let last = words.last().copied().unwrap_or("");
    if words.len() > 1 && last.chars().count() > 0 && UNITS.iter().any(|(u, _)| *u == last) {
        unit = unit.or_else(|| Some(last.to_owned()));
        words.pop();
    }
    (words.join(" "), unit)
}

/// The field of a plain header, and the north that it names.
fn field(plain: &str) -> (Option<Field>, Option<NorthLabel>) {
    let known = |name: &str| NAMES.iter().find(|(_, names)| names.contains(&name)).map(|(f, _)| *f);
    if let Some(field) = known(plain) {
        return (Some(field), None);
    }
    if plain.strip_prefix("swing").is_some_and(|r| r.trim_start().starts_with(|c: char| c.is_ascii_digit())) {
        return (Some(Field::Swing), None);
    }
    // A word that names a north may stand anywhere beside the name of the bearing.
    let (north, rest): (Vec<&str>, Vec<&str>) =
        plain.split(' ').partition(|word| word.chars().count() > 1 && NorthLabel::from_word(word).is_some());
    let label = north.first().and_then(|word| NorthLabel::from_word(word));
    let found = known(&rest.join(" ")).filter(|f| *f == Field::Bearing);
    (found, label)
}
