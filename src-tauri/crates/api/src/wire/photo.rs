use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A photo as it is kept: turned upright, not larger than needed, without what a camera notes
/// beside the picture, such as the position.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PhotoCard {
    /// SHA-256 of the kept bytes, 64 hexadecimal digits.
    pub photo: String,
    /// E.g. `image/jpeg`.
    pub media_type: String,
    pub width_px: u32,
    pub height_px: u32,
    pub bytes: u64,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PhotoInput {
    /// Name of the photo.
    pub photo: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PhotoDropInput {
    /// Names of photos.
    pub photos: Vec<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PhotosDropped {
    /// How many are gone; those that a record names stay.
    pub dropped: u32,
}
