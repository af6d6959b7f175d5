//! What a receiver's input and a field meter read: voltages, field strengths, power densities, and the antenna factor
//! between them. How they are converted stands in `radio`.

macro_rules! decibels {
    ($(#[$doc:meta])* $name:ident) => {
        // A plain quantity, whose unit is a decibel above its reference, ...
        scalar!($(#[$doc])* $name);

        // ... of which two have a ratio, and to which a ratio can be added.
        impl std::ops::Sub for $name {
            type Output = crate::units::Db;
            fn sub(self, other: Self) -> crate::units::Db {
                crate::units::Db::new(self.0 - other.0)
            }
        }

        impl std::ops::Add<crate::units::Db> for $name {
            type Output = Self;
            fn add(self, gain: crate::units::Db) -> Self {
                Self(self.0 + gain.value())
            }
        }
    };
}

decibels!(
    /// A voltage across a load, root mean square, in decibels above one microvolt (dBµV). Across the load: the open-circuit
    /// voltage (EMF) that some signal generators print is 20 log10 2 = 6.02 dB more.
    DbMicrovolt
);
decibels!(
    /// An electric field strength, root mean square, in decibels above one microvolt per metre (dBµV/m).
    DbMicrovoltPerMetre
);
decibels!(
    /// An antenna factor in dB/m: field strength in dBµV/m less the voltage at the antenna's terminals in dBµV.
    DbPerMetre
);
