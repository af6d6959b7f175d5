//! Lengths, areas, frequencies, powers, power densities and resistances.

macro_rules! scalar {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// From the number of units that the type is named after.
            pub const fn new(value: f64) -> Self {
                Self(value)
            }

            /// The number of units that the type is named after.
            pub const fn value(self) -> f64 {
                self.0
            }
        }
    };
}

scalar!(
    /// A length in metres.
    Metres
);
scalar!(
    /// An area in square metres.
    SquareMetres
);
scalar!(
    /// A frequency in hertz.
    Hertz
);
scalar!(
    /// A power in watts.
    Watts
);
scalar!(
    /// A power density in watts per square metre.
    WattsPerSquareMetre
);
scalar!(
    /// A resistance in ohms.
    Ohms
);

impl Metres {
    /// A length given in kilometres.
    pub fn km(value: f64) -> Self {
        Self(value * 1e3)
    }
}

impl SquareMetres {
    /// The area in hectares.
    pub fn hectares(self) -> f64 {
        self.0 / 1e4
    }
}

impl Hertz {
    /// A frequency given in megahertz.
    pub fn mhz(value: f64) -> Self {
        Self(value * 1e6)
    }

    /// The frequency in megahertz.
    pub fn to_mhz(self) -> f64 {
        self.0 / 1e6
    }

    /// Free-space wavelength, c/f with c = 299 792 458 m/s (exact by definition of the metre).
    pub fn wavelength(self) -> Metres {
        Metres(299_792_458.0 / self.0)
    }
}
