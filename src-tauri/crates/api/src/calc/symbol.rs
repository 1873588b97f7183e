use super::{Calc, Entry, above_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_optics::{
    Anatomy, Blocks, Level, TextMode, anatomy, capacity, distance_mm, dots_mm, module_dots,
    side_modules, symbol_mm, symbol_of, with_quiet_mm,
};

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<Size>(),
        entry::<Dots>(),
        entry::<Capacity>(),
        entry::<Modules>(),
        entry::<Codewords>(),
        entry::<Information>(),
    ]
}

/// Width of a QR symbol, of the smallest label that holds it with its quiet zone of four modules
/// (ISO/IEC 18004), and the distance from which it is read: ten times its width (common practice,
/// no source).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Size {
    /// 1 to 40.
    version: u32,
    /// Width of a module.
    module_mm: f64,
}

#[derive(Serialize, JsonSchema)]
struct Sized {
    /// Modules a side.
    modules: u32,
    /// Width without the quiet zone.
    symbol_mm: f64,
    /// Width with the quiet zone.
    label_mm: f64,
    /// Distance from which it is read.
    distance_mm: f64,
}

impl Calc for Size {
    const NAME: &'static str = "symbol-size";
    type Reply = Sized;

    fn reckon(self) -> Result<Sized, String> {
        known(self.version)?;
        let module_mm = above_zero("module_mm", self.module_mm)?;
        Ok(Sized {
            modules: side_modules(self.version),
            symbol_mm: symbol_mm(self.version, module_mm),
            label_mm: with_quiet_mm(self.version, module_mm),
            distance_mm: distance_mm(symbol_mm(self.version, module_mm)),
        })
    }
}

/// Whole dots of a printer in a module that shall not be wider than wanted.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Dots {
    /// Dots of the printer on an inch.
    dpi: u16,
    /// Width that a module shall not exceed.
    module_mm: f64,
}

#[derive(Serialize, JsonSchema)]
struct Dotted {
    /// Dots in a module.
    dots: u32,
    /// Width of so many dots.
    actual_mm: f64,
}

impl Calc for Dots {
    const NAME: &'static str = "module-dots";
    type Reply = Dotted;

    fn reckon(self) -> Result<Dotted, String> {
        above_zero("dpi", f64::from(self.dpi))?;
        let dots = module_dots(self.dpi, above_zero("module_mm", self.module_mm)?);
        if dots == 0 {
            return Err(format!(
                "module_mm is {}, less than one dot of {:.4} mm: give a larger one",
                self.module_mm,
                dots_mm(self.dpi, 1)
            ));
        }
        Ok(Dotted { dots, actual_mm: dots_mm(self.dpi, dots) })
    }
}

/// What a QR symbol holds, in one segment of each mode (ISO/IEC 18004).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Capacity {
    /// 1 to 40.
    version: u32,
    /// Error correction: `L`, `M`, `Q` or `H`.
    level: LevelName,
}

#[derive(Serialize, JsonSchema)]
struct Holds {
    /// Modules a side.
    modules: u32,
    /// Codewords of data.
    data_codewords: usize,
    /// Digits.
    numeric: usize,
    /// Digits, capital letters and nine signs.
    alphanumeric: usize,
    /// Bytes.
    byte: usize,
    /// Kanji characters.
    kanji: usize,
}

impl Calc for Capacity {
    const NAME: &'static str = "symbol-capacity";
    type Reply = Holds;

    fn reckon(self) -> Result<Holds, String> {
        known(self.version)?;
        let level = self.level.into();
        let of = |mode| capacity(self.version, level, mode);
        Ok(Holds {
            modules: side_modules(self.version),
            data_codewords: Blocks::of(self.version, level).map_or(0, |blocks| blocks.data()),
            numeric: of(TextMode::Numeric),
            alphanumeric: of(TextMode::Alphanumeric),
            byte: of(TextMode::Byte),
            kanji: of(TextMode::Kanji),
        })
    }
}

/// The modules of a QR symbol whose version, error correction and mask are given.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Modules {
    /// What it says.
    text: String,
    /// How it is packed, as a whole; the densest mode that holds it where nothing is given.
    mode: Option<ModeName>,
    /// 1 to 40.
    version: u32,
    /// Error correction: `L`, `M`, `Q` or `H`.
    level: LevelName,
    /// Mask pattern, 0 to 7.
    mask: u32,
}

#[derive(Serialize, JsonSchema)]
struct Drawn {
    /// Modules a side.
    size: usize,
    /// From top to bottom, `1` dark and `0` light.
    rows: Vec<String>,
}

impl Calc for Modules {
    const NAME: &'static str = "symbol-modules";
    type Reply = Drawn;

    fn reckon(self) -> Result<Drawn, String> {
        let mode = packed(self.mode, &self.text);
        let made = symbol_of(&self.text, self.version, self.level.into(), self.mask, mode)
            .map_err(|refusal| refusal.to_string())?;
        let digit = |dark: &bool| if *dark { '1' } else { '0' };
        let rows = made.modules.chunks(made.size).map(|row| row.iter().map(digit).collect());
        Ok(Drawn { size: made.size, rows: rows.collect() })
    }
}

/// The codewords of a QR symbol, read off its modules (ISO/IEC 18004).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Codewords {
    /// What it says.
    text: String,
    /// How it is packed, as a whole; the densest mode that holds it where nothing is given.
    mode: Option<ModeName>,
    /// 1 to 40.
    version: u32,
    /// Error correction: `L`, `M`, `Q` or `H`.
    level: LevelName,
}

#[derive(Serialize, JsonSchema)]
struct Words {
    /// Codewords of data in hexadecimal, in the order of the symbol.
    data: String,
    /// Codewords of error correction, likewise.
    correction: String,
}

impl Calc for Codewords {
    const NAME: &'static str = "symbol-codewords";
    type Reply = Words;

    fn reckon(self) -> Result<Words, String> {
        let mode = packed(self.mode, &self.text);
        let Anatomy { data, correction, .. } =
            anatomy(&self.text, self.version, self.level.into(), 0, mode)
                .map_err(|refusal| refusal.to_string())?;
        let written = |words: &[u8]| {
            let words: Vec<String> = words.iter().map(|word| format!("{word:02X}")).collect();
            words.join(" ")
        };
        Ok(Words { data: written(&data), correction: written(&correction) })
    }
}

/// Format and version information of a QR symbol, read off its modules (ISO/IEC 18004).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Information {
    /// 1 to 40.
    version: u32,
    /// Error correction: `L`, `M`, `Q` or `H`.
    level: LevelName,
    /// Mask pattern, 0 to 7.
    mask: u32,
}

#[derive(Serialize, JsonSchema)]
struct Informed {
    /// 15 bits with their mask, the highest first.
    format: String,
    /// 18 bits, the highest first; none below version 7.
    version: Option<String>,
}

impl Calc for Information {
    const NAME: &'static str = "symbol-information";
    type Reply = Informed;

    fn reckon(self) -> Result<Informed, String> {
        let made = anatomy("0", self.version, self.level.into(), self.mask, TextMode::Numeric)
            .map_err(|refusal| refusal.to_string())?;
        Ok(Informed {
            format: format!("{:015b}", made.format),
            version: made.version_bits.map(|bits| format!("{bits:018b}")),
        })
    }
}

fn packed(mode: Option<ModeName>, text: &str) -> TextMode {
    match mode {
        Some(ModeName::Numeric) => TextMode::Numeric,
        Some(ModeName::Alphanumeric) => TextMode::Alphanumeric,
        Some(ModeName::Byte) => TextMode::Byte,
        None => TextMode::of(text),
    }
}

#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
enum LevelName {
    L,
    M,
    Q,
    H,
}

#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum ModeName {
    Numeric,
    Alphanumeric,
    Byte,
}

impl From<LevelName> for Level {
    fn from(name: LevelName) -> Self {
        match name {
            LevelName::L => Self::L,
            LevelName::M => Self::M,
            LevelName::Q => Self::Q,
            LevelName::H => Self::H,
        }
    }
}

fn known(version: u32) -> Result<(), String> {
    if (1..=40).contains(&version) {
        Ok(())
    } else {
        Err(format!("version is {version}: QR symbols have versions 1 to 40"))
    }
}
