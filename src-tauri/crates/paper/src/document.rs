//! The document made of pages: fonts, page tree and compressed content.

use crate::canvas::Canvas;
use crate::glyphs::Glyphs;
use flate2::Compression;
use flate2::write::ZlibEncoder;
use lopdf::{Dictionary, Document, Object, ObjectId, Stream, StringFormat};
use slotkeep_domain::in_parallel;
use std::io::Write;

/// Makes the bytes of a document. Equal pages give equal bytes.
pub(crate) fn document(title: &str, pages: Vec<Canvas>) -> Vec<u8> {
    let (mut file, glyphs) = Glyphs::embedded(title, &pages);
    let contents = in_parallel(&pages, |page| compressed(&page.content(&glyphs)));
    replace_pages(&mut file, &pages, contents);
    // The writer makes up an identity and a date for each run; equal input must give equal bytes.
    let identity = Object::String(b"slotkeep".to_vec(), StringFormat::Literal);
    file.trailer.set("ID", Object::Array(vec![identity.clone(), identity]));
    if let Ok(info) = file.trailer.get(b"Info").and_then(Object::as_reference)
        && let Ok(info) = file.get_object_mut(info).and_then(Object::as_dict_mut)
    {
        info.remove(b"CreationDate");
        info.remove(b"ModDate");
    }
    file.compress();
    let mut bytes = Vec::new();
    file.save_to(&mut bytes).expect("writing to memory does not fail");
    bytes
}

/// Puts our pages in the place of the one that brought the fonts.
fn replace_pages(file: &mut Document, pages: &[Canvas], contents: Vec<Vec<u8>>) {
    let Some(specimen) = file.get_pages().into_values().next() else { return };
    let of_specimen = |file: &Document, key: &[u8]| -> Option<ObjectId> {
        file.get_dictionary(specimen).ok()?.get(key).ok()?.as_reference().ok()
    };
    let parent = of_specimen(file, b"Parent");
    let resources = of_specimen(file, b"Resources");
    let content = of_specimen(file, b"Contents");
    let (Some(parent), Some(resources), Some(content)) = (parent, resources, content) else {
        return;
    };
    file.objects.remove(&specimen);
    file.objects.remove(&content);
    let mut kids = Vec::with_capacity(pages.len());
    for (page, content) in pages.iter().zip(contents) {
        let mut about = Dictionary::new();
        about.set("Filter", "FlateDecode");
        let content = file.add_object(Stream::new(about, content));
        let (width_pt, height_pt) = page.size_pt();
        let corners = [0.0, 0.0, width_pt, height_pt].map(Object::Real);
        kids.push(Object::Reference(file.add_object(Dictionary::from_iter([
            ("Type", Object::from("Page")),
            ("Parent", Object::Reference(parent)),
            ("MediaBox", Object::Array(corners.to_vec())),
            ("Resources", Object::Reference(resources)),
            ("Contents", Object::Reference(content)),
        ]))));
    }
    if let Ok(tree) = file.get_object_mut(parent).and_then(Object::as_dict_mut) {
        tree.set("Count", kids.len() as i64);
        tree.set("Kids", kids);
    }
}

fn compressed(content: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::fast());
    encoder.write_all(content).expect("writing to memory does not fail");
    encoder.finish().expect("writing to memory does not fail")
}
