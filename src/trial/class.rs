//! Classes of scenes: each has one trouble, the first none.

use crate::trial::Method;

/// A class of scenes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// Bearings with nothing wrong.
    Clean,
    /// One bearing in ten from elsewhere, each from a direction of its own.
    Foreign10,
    /// One in four.
    Foreign25,
    /// Two in five.
    Foreign40,
    /// One in four from one reflector that they share.
    Reflector,
    /// Errors twice those of the stated classes.
    SigmaDouble,
    /// Errors half those of the stated classes.
    SigmaHalf,
    /// All compasses 5° to 15° off to one side; stands all round the emitter.
    CompassRound,
    /// The same with all stands to one side of it.
    CompassSide,
    /// Three teams, each with a compass that is off by an error of its own.
    CompassTeams,
    /// One bearing in five read over the antenna's back.
    Reversed,
    /// Stands 30 to 100 m from the emitter, with errors of position of 5 m.
    Near,
    /// Two emitters on the channel.
    TwoEmitters,
    /// A small town: façades reflect and shadow, compasses differ, positions drift, the emitter may aim or pause.
    Street,
    /// The same in a dense town.
    Canyon,
    /// A walk with a receiver: neighbouring levels share their shadowing.
    Walk,
    /// The same with three readings in ten below the receiver's floor.
    WalkFloor,
    /// The same with an emitter that radiates mostly one way.
    WalkPattern,
}

/// What is observed in a class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Bearings.
    Bearings,
    /// Levels along a walk.
    Walks,
}

impl Class {
    /// All classes, in the order of tables.
    pub const ALL: [Self; 18] = [
        Self::Clean,
        Self::Foreign10,
        Self::Foreign25,
        Self::Foreign40,
        Self::Reflector,
        Self::SigmaDouble,
        Self::SigmaHalf,
        Self::CompassRound,
        Self::CompassSide,
        Self::CompassTeams,
        Self::Reversed,
        Self::Near,
        Self::TwoEmitters,
        Self::Street,
        Self::Canyon,
        Self::Walk,
        Self::WalkFloor,
        Self::WalkPattern,
    ];

    /// Its name; scenes follow from it, so that it never changes.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::Foreign10 => "foreign-10",
            Self::Foreign25 => "foreign-25",
            Self::Foreign40 => "foreign-40",
            Self::Reflector => "reflector",
            Self::SigmaDouble => "sigma-double",
            Self::SigmaHalf => "sigma-half",
            Self::CompassRound => "compass-round",
            Self::CompassSide => "compass-side",
            Self::CompassTeams => "compass-teams",
            Self::Reversed => "reversed",
            Self::Near => "near",
            Self::TwoEmitters => "two-emitters",
            Self::Street => "street",
            Self::Canyon => "canyon",
            Self::Walk => "walk",
            Self::WalkFloor => "walk-floor",
            Self::WalkPattern => "walk-pattern",
        }
    }

    /// The class of a name.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|class| class.word() == word)
    }

    /// What is wrong in it, in a few words.
    pub const fn told(self) -> &'static str {
        match self {
            Self::Clean => "errors as stated",
            Self::Foreign10 => "1 bearing in 10 points anywhere",
            Self::Foreign25 => "1 in 4 points anywhere",
            Self::Foreign40 => "2 in 5 point anywhere",
            Self::Reflector => "1 in 4 points at one reflector",
            Self::SigmaDouble => "errors twice as stated",
            Self::SigmaHalf => "errors half as stated",
            Self::CompassRound => "compasses 5° to 15° off, stands all round",
            Self::CompassSide => "compasses 5° to 15° off, stands to one side",
            Self::CompassTeams => "three teams, each compass off by its own ± 8°",
            Self::Reversed => "1 in 5 read over the antenna's back",
            Self::Near => "stands 30 to 100 m off, positions to 5 m",
            Self::TwoEmitters => "two emitters on the channel",
            Self::Street => "a small town with façades that reflect",
            Self::Canyon => "a dense town with façades that reflect",
            Self::Walk => "levels of a walk, shadowing shared",
            Self::WalkFloor => "3 levels in 10 below the floor",
            Self::WalkPattern => "an emitter that radiates one way",
        }
    }

    /// What is observed in it.
    pub const fn group(self) -> Group {
        match self {
            Self::Walk | Self::WalkFloor | Self::WalkPattern => Group::Walks,
            _ => Group::Bearings,
        }
    }

    /// The methods that are tried on it, in the order of tables.
    pub const fn methods(self) -> &'static [Method] {
        match self.group() {
            Group::Bearings => &[Method::Posterior, Method::LeastSquares, Method::Huber],
            Group::Walks => &[Method::Posterior, Method::LeastSquares],
        }
    }

    /// Whether the misses may be held against the bound: every bearing is direct, and its error normal.
    pub const fn bounded(self) -> bool {
        matches!(self, Self::Clean | Self::SigmaDouble | Self::SigmaHalf | Self::Near)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_has_a_name_of_its_own() {
        for (i, class) in Class::ALL.into_iter().enumerate() {
            assert_eq!(class as usize, i, "the order of tables is that of the list");
            assert_eq!(Class::from_word(class.word()), Some(class));
            assert!(!class.methods().is_empty() && class.methods()[0] == Method::Posterior);
        }
        assert_eq!(Class::from_word("Clean"), None);
    }
}
