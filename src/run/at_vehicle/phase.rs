//! Where a session is between the journal that it reads back and what it asks.

/// Where a session is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Phase {
    /// The journal's entries come first.
    ReadsBack(Then),
    /// Things are asked, and the vehicle is as the script has it.
    Live,
    /// Things are asked. Before the next question the vehicle has to be looked at: it may not be as the script has it.
    LooksFirst(Hands),
}

/// What comes when the journal is read to its end.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Then {
    /// On at once: an answer was taken back, and nothing was done at the vehicle since it was given.
    GoesOn,
    /// The vehicle is confirmed.
    Confirms(Hands),
}

/// What somebody held at the vehicle: a pedal, a switch.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Hands {
    /// Is held still.
    Hold,
    /// Is held no longer: the run was paused or broken off since anything was last asked.
    LetGo,
}

impl Phase {
    /// Whether things are asked.
    pub const fn is_live(self) -> bool {
        !matches!(self, Self::ReadsBack(_))
    }

    /// What is held, as far as it is known here.
    const fn hands(self) -> Hands {
        match self {
            Self::ReadsBack(Then::Confirms(hands)) | Self::LooksFirst(hands) => hands,
            Self::ReadsBack(Then::GoesOn) | Self::Live => Hands::Hold,
        }
    }

    /// After an answer was taken back: from the top. `moved`: the vehicle may stand otherwise than the record has it.
    pub fn rewound(self, moved: bool) -> Self {
        let hands = self.hands();
        Self::ReadsBack(if moved || hands == Hands::LetGo { Then::Confirms(hands) } else { Then::GoesOn })
    }
}
