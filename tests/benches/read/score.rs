//! Pictures with known texts, and what each reader read of them.

use crate::peers::Seen;
use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};

pub struct Picture {
    pub path: PathBuf,
    /// Its texts, one a line. A single code may say several lines.
    pub lines: Vec<String>,
}

/// Readers in the order in which they came.
#[derive(Default)]
pub struct Table {
    rows: Vec<(String, Row)>,
    wanted: BTreeMap<PathBuf, usize>,
}

#[derive(Default)]
struct Row {
    read: usize,
    wrong: usize,
    ms: Vec<f64>,
    texts: HashMap<PathBuf, Vec<String>>,
}

impl Table {
    pub fn take(&mut self, reader: &str, picture: &Picture, seen: &Seen) {
        self.wanted.insert(picture.path.clone(), picture.lines.len());
        let at = match self.rows.iter().position(|(name, _)| name == reader) {
            Some(at) => at,
            None => {
                self.rows.push((reader.to_owned(), Row::default()));
                self.rows.len() - 1
            }
        };
        let row = &mut self.rows[at].1;
        let mut texts: Vec<String> = seen.texts.iter().map(|text| plain(text)).collect();
        row.texts.insert(picture.path.clone(), texts.clone());
        let whole = plain(&picture.lines.join("\n"));
        if texts.contains(&whole) {
            row.read += picture.lines.len();
        } else {
            for line in &picture.lines {
                if let Some(at) = texts.iter().position(|text| *text == plain(line)) {
                    texts.swap_remove(at);
                    row.read += 1;
                }
            }
            row.wrong += texts.iter().filter(|text| !whole.contains(text.as_str())).count();
        }
        row.ms.push(seen.ms);
    }

    pub fn add(&mut self, other: Self) {
        self.wanted.extend(other.wanted);
        for (name, more) in other.rows {
            match self.rows.iter_mut().find(|(known, _)| *known == name) {
                Some((_, row)) => {
                    row.read += more.read;
                    row.wrong += more.wrong;
                    row.ms.extend(more.ms);
                }
                None => self.rows.push((name, more)),
            }
        }
    }

    pub fn has(&self, reader: &str, picture: &Path, text: &str) -> bool {
        let row = self.rows.iter().find(|(name, _)| name == reader);
        let texts = row.and_then(|(_, row)| row.texts.get(picture));
        texts.is_some_and(|texts| texts.iter().any(|read| read == text))
    }

    /// The reader that reads most, among those whose name does not begin so.
    pub fn best_of_others(&self, own: &str) -> Option<String> {
        let others = self.rows.iter().filter(|(name, _)| !name.starts_with(own));
        others.max_by_key(|(_, row)| row.read).map(|(name, _)| name.clone())
    }

    pub fn print(&self, title: &str) {
        let wanted: usize = self.wanted.values().sum();
        println!("{title}, {wanted} known texts");
        println!("  {:24} {:>6} {:>10} {:>11}", "reader", "read", "not there", "median ms");
        for (name, row) in &self.rows {
            let mut ms = row.ms.clone();
            ms.sort_by(f64::total_cmp);
            let median = ms.get(ms.len() / 2).copied().unwrap_or_default();
            println!("  {name:24} {:6} {:10} {median:11.1}", row.read, row.wrong);
        }
        let median = |of: &str| {
            let row = self.rows.iter().find(|(name, _)| name == of)?;
            let mut ms = row.1.ms.clone();
            ms.sort_by(f64::total_cmp);
            ms.get(ms.len() / 2).copied()
        };
        if let (Some(own), Some(best)) =
            (median("slotkeep, first pass"), self.best_of_others("slotkeep"))
            && let Some(other) = median(&best).filter(|ms| *ms > 0.0)
        {
            println!("  the first pass takes {:.2} times as long as {best}", own / other);
        }
        println!();
    }
}

fn plain(text: &str) -> String {
    text.replace("\r\n", "\n").trim().to_owned()
}

/// Pictures with texts beside them, by sub-folder.
pub fn sets(folder: &Path) -> BTreeMap<String, Vec<Picture>> {
    let mut sets = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(here) = folders.pop() {
        let entries = std::fs::read_dir(&here).expect("the folder of photos");
        let mut paths: Vec<PathBuf> = entries.filter_map(|e| Some(e.ok()?.path())).collect();
        paths.sort();
        folders.extend(paths.iter().filter(|path| path.is_dir()).cloned());
        let pictures: Vec<Picture> = paths.into_iter().filter_map(picture).collect();
        if !pictures.is_empty() {
            let name = here.strip_prefix(folder).unwrap_or(&here).to_string_lossy().into_owned();
            sets.insert(if name.is_empty() { "photos".to_owned() } else { name }, pictures);
        }
    }
    sets
}

fn picture(path: PathBuf) -> Option<Picture> {
    let kind = path.extension()?.to_str()?.to_lowercase();
    let image =
        ["jpg", "jpeg", "png", "gif", "bmp", "webp", "tif", "tiff"].contains(&kind.as_str());
    let text = image.then(|| std::fs::read(path.with_extension("txt")).ok())??;
    let text = String::from_utf8_lossy(&text).into_owned();
    let lines = text.lines().filter(|line| !line.trim().is_empty()).map(str::to_owned).collect();
    Some(Picture { path, lines })
}
