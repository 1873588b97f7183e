/// What a step does to the plant: the rules of order speak of acts, never of words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Act {
    Permit,
    /// Somebody competent releases work on intrinsically safe circuits.
    HazardousRelease,
    IdentifySlot,
    /// Operations put the loops in manual or bypass.
    ClearLoops,
    SafetyRelease,
    /// The redundant partner carries the function.
    SwitchOver,
    SaveProgram,
    IdentifyOut,
    /// The rail is made dead.
    Isolate,
    /// It is settled that the rail stays energised.
    StayEnergised,
    /// Terminator and end support come off.
    TerminatorOff,
    Unwire,
    Unlatch,
    /// A module leaves its base.
    Pull,
    /// A unit leaves the rail.
    Unmount,
    IdentifyIn,
    /// Keys of base and module are compared.
    Key,
    SetAddress,
    /// A unit is hung on the rail and locked.
    Mount,
    TerminatorOn,
    Wire,
    Plug,
    /// Latched means energised.
    Latch,
    /// The rail is switched on again.
    Energise,
    LoadProgram,
    LoadFirmware,
    Battery,
    Verify,
    ReturnToService,
    /// Something that no rule speaks of.
    Other,
}

impl Act {
    pub const ALL: [Self; 30] = [
        Self::Permit,
        Self::HazardousRelease,
        Self::IdentifySlot,
        Self::ClearLoops,
        Self::SafetyRelease,
        Self::SwitchOver,
        Self::SaveProgram,
        Self::IdentifyOut,
        Self::Isolate,
        Self::StayEnergised,
        Self::TerminatorOff,
        Self::Unwire,
        Self::Unlatch,
        Self::Pull,
        Self::Unmount,
        Self::IdentifyIn,
        Self::Key,
        Self::SetAddress,
        Self::Mount,
        Self::TerminatorOn,
        Self::Wire,
        Self::Plug,
        Self::Latch,
        Self::Energise,
        Self::LoadProgram,
        Self::LoadFirmware,
        Self::Battery,
        Self::Verify,
        Self::ReturnToService,
        Self::Other,
    ];

    /// Name of the act in files and records.
    pub fn name(self) -> &'static str {
        match self {
            Self::Permit => "permit",
            Self::HazardousRelease => "hazardous_release",
            Self::IdentifySlot => "identify_slot",
            Self::ClearLoops => "clear_loops",
            Self::SafetyRelease => "safety_release",
            Self::SwitchOver => "switch_over",
            Self::SaveProgram => "save_program",
            Self::IdentifyOut => "identify_out",
            Self::Isolate => "isolate",
            Self::StayEnergised => "stay_energised",
            Self::TerminatorOff => "terminator_off",
            Self::Unwire => "unwire",
            Self::Unlatch => "unlatch",
            Self::Pull => "pull",
            Self::Unmount => "unmount",
            Self::IdentifyIn => "identify_in",
            Self::Key => "key",
            Self::SetAddress => "set_address",
            Self::Mount => "mount",
            Self::TerminatorOn => "terminator_on",
            Self::Wire => "wire",
            Self::Plug => "plug",
            Self::Latch => "latch",
            Self::Energise => "energise",
            Self::LoadProgram => "load_program",
            Self::LoadFirmware => "load_firmware",
            Self::Battery => "battery",
            Self::Verify => "verify",
            Self::ReturnToService => "return_to_service",
            Self::Other => "other",
        }
    }

    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|act| act.name() == name)
    }

    /// Whether it moves a unit or opens something, so that all preparation must lie before it.
    pub(super) fn touches(self) -> bool {
        matches!(
            self,
            Self::TerminatorOff
                | Self::Unwire
                | Self::Unlatch
                | Self::Pull
                | Self::Unmount
                | Self::Mount
                | Self::Plug
                | Self::Latch
                | Self::Wire
        )
    }

    /// Whether it takes out what stands in the slot.
    pub(super) fn takes_out(self) -> bool {
        matches!(
            self,
            Self::IdentifyOut | Self::Unwire | Self::Unlatch | Self::Pull | Self::Unmount
        )
    }

    /// Whether hands do it once in a swap.
    pub(super) fn once(self) -> bool {
        self.touches() || matches!(self, Self::Isolate | Self::TerminatorOn | Self::Energise)
    }
}
