//! What a caller or a row may state about north and about a grid, in words.

/// Which of the three norths a bearing names. Grid north is that of the grid the stand is written in, or of its UTM zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NorthLabel {
    /// True (geographic) north.
    True,
    /// Magnetic north.
    Magnetic,
    /// The north of a map grid.
    Grid,
}

/// First letters of words for the three norths, lower case: English, German, French, Spanish.
const NORTHS: [(NorthLabel, &[&str]); 3] = [
    (
        NorthLabel::True,
        &[
            "t",
            "true",
            "true north",
            "geographic",
            "geographisch",
            "rechtweisend",
            "vrai",
            "géographique",
            "verdadero",
            "geográfico",
        ],
    ),
    (
        NorthLabel::Magnetic,
        &[
            "m",
            "mag",
            "magn",
            "magnetic",
            "magnetic north",
            "magnetisch",
            "missweisend",
            "mißweisend",
            "magnétique",
            "magnetique",
            "magnético",
            "magnetico",
        ],
    ),
    (
        NorthLabel::Grid,
        &["g", "grid", "grid north", "gitter", "gitternord", "grille", "cuadrícula", "cuadricula"],
    ),
];

impl NorthLabel {
    /// The label of a letter or word, in either case; `None` for anything else, never a guess.
    pub fn from_word(word: &str) -> Option<Self> {
        let word = word.trim().trim_end_matches('.').to_lowercase();
        NORTHS.iter().find(|(_, words)| words.contains(&word.as_str())).map(|(label, _)| *label)
    }

    /// The English word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::True => "true",
            Self::Magnetic => "magnetic",
            Self::Grid => "grid",
        }
    }
}

/// A grid for easting and northing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StatedGrid {
    /// By its EPSG code.
    Epsg(u32),
    /// A UTM zone on WGS 84.
    Utm {
        /// 1 to 60.
        zone: u8,
        /// Letter of the latitude band; `+` for north, `-` for south.
        letter: char,
    },
}

impl StatedGrid {
    /// `EPSG:2056`, `2056`, `33T`, `33 north`, `UTM 33 south`, `33S`.
    pub fn from_text(text: &str) -> Option<Self> {
        let text = text.trim().to_lowercase();
        let plain = text.strip_prefix("utm").or(text.strip_prefix("zone")).unwrap_or(&text).trim();
        if let Some(code) = plain.strip_prefix("epsg").map(|c| c.trim_start_matches([':', ' '])) {
            return code.parse().ok().map(Self::Epsg);
        }
        let digits = plain.chars().take_while(char::is_ascii_digit).count();
        let (zone, rest) = plain.split_at(digits);
        if rest.is_empty() {
            // Four and more digits are a code; one or two would be a zone without its hemisphere.
            return (digits >= 4).then(|| zone.parse().ok().map(Self::Epsg)).flatten();
        }
        let zone: u8 = zone.parse().ok().filter(|z| (1..=60).contains(z))?;
        let letter = match rest.trim() {
            "north" | "nord" | "norte" => '+',
            "south" | "süd" | "sud" | "sur" => '-',
            one if one.len() == 1 => one.chars().next()?.to_ascii_uppercase(),
            _ => return None,
        };
        let band = matches!(letter, 'C'..='H' | 'J'..='N' | 'P'..='X' | '+' | '-');
        band.then_some(Self::Utm { zone, letter })
    }
}
