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
            "tn",
            "rw",
            "wahr",
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
            "mn",
            "mw",
            "compass",
            "kompass",
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
    /// `EPSG:2056`, `2056`, `33T`, `33 north`, `UTM 33 south`, `UTM zone 33N`, `33S`. The codes of UTM on WGS 84 are its
    /// zones.
    pub fn from_text(text: &str) -> Option<Self> {
        let text = text.trim().to_lowercase();
        let without = |text: &'_ str, word| text.strip_prefix(word).unwrap_or(text).trim().to_owned();
        let plain = without(&without(&text, "utm"), "zone");
        if let Some(code) = plain.strip_prefix("epsg") {
            return by_code(code.trim_start_matches([':', ' ']));
        }
        let digits = plain.chars().take_while(char::is_ascii_digit).count();
        let (zone, rest) = plain.split_at(digits);
        if rest.is_empty() {
            // Four and more digits are a code; one or two would be a zone without its hemisphere.
            return if digits >= 4 { by_code(zone) } else { None };
        }
        let zone: u8 = zone.parse().ok().filter(|z| (1..=60).contains(z))?;
        let letter = match rest.trim() {
            "north" | "nord" | "norte" => '+',
            "south" | "süd" | "sud" | "sur" => '-',
            one if one.len() == 1 => one.chars().next()?.to_ascii_uppercase(),
            _ => return None,
        };
        let band = matches!(letter, 'C'..='H' | 'J'..='N' | 'P'..='X');
        (band || rest.trim().len() > 1).then_some(Self::Utm { zone, letter })
    }

    /// Whether two ways of stating a grid name the same one. `S` agrees with either hemisphere, as it may mean both.
    pub fn agrees(self, other: Self) -> bool {
        let south = |letter| matches!(letter, '-' | 'C'..='M');
        match (self, other) {
            (Self::Utm { zone, letter: a }, Self::Utm { zone: same, letter: b }) => {
                zone == same && (a == 'S' || b == 'S' || south(a) == south(b))
            }
            (a, b) => a == b,
        }
    }
}

/// EPSG:32601 to 32660 are the northern zones of UTM on WGS 84, 32701 to 32760 the southern ones.
fn by_code(digits: &str) -> Option<StatedGrid> {
    let code: u32 = digits.parse().ok().filter(|_| digits.bytes().all(|b| b.is_ascii_digit()))?;
    Some(match code {
        32_601..=32_660 => StatedGrid::Utm { zone: (code - 32_600) as u8, letter: '+' },
        32_701..=32_760 => StatedGrid::Utm { zone: (code - 32_700) as u8, letter: '-' },
        _ => StatedGrid::Epsg(code),
    })
}
