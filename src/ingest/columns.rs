//! Which column is which: header names in four languages, with the units and the north that they carry.

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

use Field::{
    Back, Bearing, Class, Frequency, Front, Hdop, Height, Id, Latitude, Longitude, North, Place,
    PositionSigma, Remarks, Sigma, Swing, Team, Time,
};

/// Names by which a column is recognised, lower case, without units; the first word that fits decides.
const NAMES: [(Field, &[&str]); 18] = [
    (Id, &["id", "nr", "no", "number", "nummer", "numero", "numéro", "número", "num"]),
    (Team, &["team", "observer", "trupp", "équipe", "equipe", "equipo", "instrument"]),
    (
        Time,
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
    (Place, &["place", "stand", "name", "location", "ort", "standort", "lieu", "lugar", "station"]),
    (Latitude, &["lat", "latitude", "lat wgs84", "breite", "latitud"]),
    (Longitude, &["lon", "long", "lng", "longitude", "lon wgs84", "länge", "laenge", "longitud"]),
    (Hdop, &["hdop"]),
    (PositionSigma, &["position sigma", "position sigma m", "sigma position", "gps sigma m"]),
    (
        Bearing,
        &[
            "bearing",
            "bearing deg",
            "azimuth",
            "azimut",
            "peilung",
            "relèvement",
            "relevement",
            "gisement",
            "rumbo",
            "marcación",
            "demora",
        ],
    ),
    (North, &["north reference", "north", "nord", "norte", "bezug"]),
    (Sigma, &["sigma", "sigma deg", "bearing sigma deg", "bearing sigma"]),
    (Class, &["class", "operator class", "klasse", "classe", "clase"]),
    (Front, &["front", "front dbm", "level", "level dbm", "pegel", "niveau", "nivel"]),
    (Back, &["back", "back dbm", "rückseite", "arrière", "atrás"]),
    (
        Height,
        &["height", "antenna height m agl", "antenna height", "antennenhöhe", "höhe", "hauteur", "altura"],
    ),
    (Frequency, &["frequency", "freq", "freq mhz", "frequenz", "fréquence", "frecuencia", "frequency mhz"]),
    (
        Remarks,
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
        ],
    ),
    (Swing, &["swing"]),
];

/// The header of a file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Columns {
    /// Field and position of every recognised column.
    pub found: Vec<(Field, usize)>,
    /// The north that the bearing's header names.
    pub north: Option<char>,
    /// Headers as written.
    pub headers: Vec<String>,
}

impl Columns {
    /// Recognises a header.
    pub fn of(headers: &[String]) -> Self {
        let mut out = Self { headers: headers.to_vec(), ..Self::default() };
        for (index, header) in headers.iter().enumerate() {
            let plain = plain(header);
            let (field, north) = field(&plain);
            if let Some(field) = field
                && (field == Swing || out.at(field).is_none())
            {
                out.found.push((field, index));
                if field == Bearing {
                    out.north = north;
                }
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
        self.found.iter().filter(|(f, _)| *f == Swing).map(|(_, i)| *i)
    }
}

/// Lower case, without brackets and what they hold, `_` and `-` as blanks, single blanks.
fn plain(header: &str) -> String {
    let mut depth = 0;
    let mut out = String::new();
    for c in header.trim_start_matches('\u{feff}').chars() {
        match c {
            '[' | '(' => depth += 1,
            ']' | ')' => depth = (depth - 1).max(0),
            _ if depth > 0 => {}
            '_' | '-' | ' ' | '\t' | '.' => out.push(' '),
            _ => out.extend(c.to_lowercase()),
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The field of a plain header, and the north that it names.
fn field(plain: &str) -> (Option<Field>, Option<char>) {
    let mut north = None;
    let rest: Vec<&str> = plain
        .split(' ')
        .filter(|word| {
            let named = match *word {
                "magn" | "mag" | "magnetic" | "magnetisch" | "magnétique" | "magnético" | "missweisend" => {
                    Some('M')
                }
                "true" | "rechtweisend" | "geographisch" | "vrai" | "verdadero" => Some('T'),
                "grid" | "gitter" | "grille" | "cuadrícula" => Some('G'),
                _ => None,
            };
            north = north.or(named);
            named.is_none()
        })
        .collect();
    let joined = rest.join(" ");
    let is_swing = joined
        .strip_prefix("swing")
        .is_some_and(|r| r.trim_start().starts_with(|c: char| c.is_ascii_digit()));
    if is_swing {
        return (Some(Swing), None);
    }
    let found = NAMES.iter().find(|(_, names)| names.contains(&joined.as_str())).map(|(f, _)| *f);
    (found, if found == Some(Bearing) { north } else { None })
}
