use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::photo::{PhotoCard, PhotoDropInput, PhotoInput, PhotosDropped};
use crate::{Failure, FailureKind};
use slotkeep_domain::photo::PhotoHash;
use slotkeep_optics::{Limits, keepable};
use slotkeep_store::{PHOTO_WAITS_D, Photo, Reader};

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::look("photo.add", "Keeps a photo, without position and the like.", add)
            .only(table::RECORDERS)
            .writes(),
        table::ask("photo.drop", "Throws photos away that no record names.", throw_away)
            .only(table::RECORDERS)
            .writes(),
        table::file("photo.show", "Gives a kept photo.", show),
    ]
}

fn add(ask: &Ask<'_>, bytes: &[u8]) -> Result<PhotoCard, Failure> {
    let photo = made_keepable(bytes)?;
    let hash = keep(ask, &photo)?;
    Ok(PhotoCard {
        photo: hash.to_string(),
        media_type: photo.media_type,
        width_px: photo.width_px,
        height_px: photo.height_px,
        bytes: photo.bytes.len() as u64,
    })
}

fn throw_away(ask: &Ask<'_>, input: PhotoDropInput) -> Result<PhotosDropped, Failure> {
    let name = |text: &String| {
        PhotoHash::parse(text.trim()).map_err(|why| Failure::bad_input(why.to_string()))
    };
    let photos = input.photos.iter().map(name).collect::<Result<Vec<_>, _>>()?;
    let dropped = ask.store.write(|writer| Ok::<_, Failure>(writer.drop_photos(&photos)?))?;
    Ok(PhotosDropped { dropped: dropped as u32 })
}

/// Makes a photo of what a camera or person sent; fails where it is none.
pub(super) fn made_keepable(bytes: &[u8]) -> Result<Photo, Failure> {
    let kept = keepable(bytes, &Limits::default())
        .map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    Ok(Photo {
        media_type: "image/jpeg".to_owned(),
        width_px: kept.width,
        height_px: kept.height,
        bytes: kept.jpeg,
    })
}

/// Keeps a photo and returns its name.
pub(super) fn keep(ask: &Ask<'_>, photo: &Photo) -> Result<PhotoHash, Failure> {
    ask.store.write(|writer| Ok(writer.keep_photo(photo, ask.now)?))
}

/// The photo of a name that somebody gave; fails where none is kept under it.
pub(super) fn named(r: &Reader<'_>, text: &str) -> Result<PhotoHash, Failure> {
    let hash = PhotoHash::parse(text.trim()).map_err(|why| Failure::bad_input(why.to_string()))?;
    match r.has_photo(&hash)? {
        true => Ok(hash),
        false => Err(missing(&hash)),
    }
}

fn show(ask: &Ask<'_>, input: PhotoInput) -> Result<File, Failure> {
    ask.read(|r| {
        let hash = named(r, &input.photo)?;
        let photo = r.photo(&hash)?.ok_or_else(|| missing(&hash))?;
        let name = format!("photo-{}.jpg", &hash.as_str()[..12]);
        Ok(File { name, content_type: "image/jpeg", bytes: photo.bytes })
    })
}

fn missing(hash: &PhotoHash) -> Failure {
    let message = format!(
        "no photo is kept as {hash}: add it first; one that no record names goes after \
         {PHOTO_WAITS_D} days"
    );
    Failure::new(FailureKind::NotFound, message)
}
