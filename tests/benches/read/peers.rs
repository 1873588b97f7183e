//! General readers, called through Python on the same files.

use serde_json::Value;
use slotkeep_tests::python::Python;
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// What a reader read in one picture, and how long that took without opening the file.
#[derive(Debug, Clone, Default)]
pub struct Seen {
    pub texts: Vec<String>,
    pub ms: f64,
}

pub struct Peers {
    python: Option<Python>,
}

/// Reads each picture named on standard input; one line of JSON for each reader and picture.
const SCRIPT: &str = r#"
import json, sys, time
import numpy as np
from PIL import Image, ImageOps
readers = {}
import zxingcpp
qr = zxingcpp.BarcodeFormat.QRCode
readers["zxing-cpp"] = lambda image: [code.text for code in zxingcpp.read_barcodes(image, formats=qr)]
try:
    from pyzbar import pyzbar
    kinds = [pyzbar.ZBarSymbol.QRCODE]
    readers["zbar"] = lambda image: [
        code.data.decode("utf8", "replace") for code in pyzbar.decode(image, symbols=kinds)]
except Exception as error:
    print("zbar is left out:", error, file=sys.stderr)
for path in sys.stdin.read().splitlines():
    try:
        image = np.asarray(ImageOps.exif_transpose(Image.open(path)).convert("L"))
    except Exception:
        continue
    for name, read in readers.items():
        start = time.perf_counter()
        texts = read(image)
        ms = (time.perf_counter() - start) * 1e3
        print(json.dumps({"reader": name, "path": path, "texts": texts, "ms": ms}))
"#;

impl Peers {
    /// Finds the general readers, or makes do without.
    pub fn find() -> Self {
        let packages = ["zxing-cpp", "pyzbar", "pillow", "numpy"];
        let python = Python::with("bench-readers", &packages, "import zxingcpp, PIL, numpy");
        Self { python }
    }

    /// What every reader reads in every picture.
    pub fn read<'a>(
        &self,
        paths: impl Iterator<Item = &'a Path>,
    ) -> Vec<(String, HashMap<PathBuf, Seen>)> {
        let Some(python) = &self.python else { return Vec::new() };
        let list: Vec<String> = paths.map(|path| path.display().to_string()).collect();
        let output = python.answer(SCRIPT, list.join("\n").as_bytes());
        let mut readers: Vec<(String, HashMap<PathBuf, Seen>)> = Vec::new();
        for line in String::from_utf8_lossy(&output).lines() {
            let line: Value = serde_json::from_str(line).expect("a line of JSON");
            let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
            let texts = line["texts"].as_array().into_iter().flatten().map(text).collect();
            let seen = Seen { texts, ms: line["ms"].as_f64().unwrap_or_default() };
            let (name, path) = (text(&line["reader"]), PathBuf::from(text(&line["path"])));
            match readers.iter_mut().find(|(known, _)| *known == name) {
                Some((_, all)) => drop(all.insert(path, seen)),
                None => readers.push((name, HashMap::from([(path, seen)]))),
            }
        }
        readers
    }
}
