//! People, their roles, and the devices that they use.

use uuid::Uuid;

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    pub name: String,
    pub roles: Vec<Role>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Sits at the machine that holds the store, or was given its rights.
    Owner,
    Planner,
    Technician,
    Clerk,
}

/// A phone or other machine that was let in at the door.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    pub id: Uuid,
    pub title: String,
    pub person: String,
    pub roles: Vec<Role>,
    /// SHA-256 of the pass that the device shows, in hexadecimal.
    pub pass_digest: String,
    pub withdrawn: bool,
    /// Its pass reads the calendar of visits and lets nobody in.
    pub calendar_only: bool,
}

impl Role {
    pub const ALL: [Self; 4] = [Self::Owner, Self::Planner, Self::Technician, Self::Clerk];

    pub fn word(self) -> &'static str {
        match self {
            Self::Owner => "owner",
            Self::Planner => "planner",
            Self::Technician => "technician",
            Self::Clerk => "clerk",
        }
    }

    pub fn parse(word: &str) -> Result<Self, String> {
        Self::ALL.into_iter().find(|role| role.word() == word).ok_or_else(|| {
            format!("{word:?} is not a role; write owner, planner, technician or clerk")
        })
    }
}
