//! Addresses: `+K12` cabinet, `+K12.2` rail, `+K12.2.07` slot, `ST1/A-03` bin.
//!
//! The `+` is the location prefix of IEC 81346-1.

use std::fmt;

/// Why a text is no address, in one sentence.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is not {wanted}")]
pub struct AddressRefusal {
    pub text: String,
    pub wanted: &'static str,
}

macro_rules! address {
    ($(#[$doc:meta])* $name:ident, $wanted:literal, $normalise:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub struct $name(String);

        impl $name {
            /// Reads an address, case-insensitively, and brings it to its one written form.
            pub fn parse(text: &str) -> Result<Self, AddressRefusal> {
                $normalise(text.trim())
                    .map(Self)
                    .ok_or_else(|| AddressRefusal { text: text.to_owned(), wanted: $wanted })
            }

            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

address!(
    /// A cabinet, e.g. `+K12`.
    CabinetAddress,
    "a cabinet address such as +K12",
    cabinet
);
address!(
    /// A rail of a cabinet, e.g. `+K12.2`.
    RailAddress,
    "a rail address such as +K12.2",
    rail
);
address!(
    /// A slot of a rail, e.g. `+K12.2.07`.
    SlotAddress,
    "a slot address such as +K12.2.07",
    slot
);
address!(
    /// A bin of a storeroom, e.g. `ST1/A-03`.
    BinPath,
    "a bin path such as ST1/A-03",
    bin
);

impl RailAddress {
    pub fn cabinet(&self) -> CabinetAddress {
        CabinetAddress(head(&self.0))
    }
}

impl SlotAddress {
    pub fn rail(&self) -> RailAddress {
        RailAddress(head(&self.0))
    }

    pub fn cabinet(&self) -> CabinetAddress {
        self.rail().cabinet()
    }

    /// Number of the slot on its rail, as printed, e.g. `07`.
    pub fn number(&self) -> &str {
        self.0.rsplit('.').next().unwrap_or_default()
    }
}

impl BinPath {
    /// Code of the storeroom that the bin stands in.
    pub fn storeroom(&self) -> &str {
        self.0.split('/').next().unwrap_or_default()
    }
}

fn head(address: &str) -> String {
    address.rsplit_once('.').map_or(address, |(head, _)| head).to_owned()
}

fn name(text: &str) -> Option<String> {
    let fits = (1..=16).contains(&text.len())
        && text.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_');
    fits.then(|| text.to_ascii_uppercase())
}

fn number(text: &str, width: usize) -> Option<String> {
    let fits = (1..=4).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    let value: u32 = fits.then(|| text.parse().ok())??;
    Some(format!("{value:0width$}"))
}

fn cabinet(text: &str) -> Option<String> {
    Some(format!("+{}", name(text.strip_prefix('+')?)?))
}

fn rail(text: &str) -> Option<String> {
    let (head, tail) = text.rsplit_once('.')?;
    Some(format!("{}.{}", cabinet(head)?, number(tail, 1)?))
}

fn slot(text: &str) -> Option<String> {
    let (head, tail) = text.rsplit_once('.')?;
    Some(format!("{}.{}", rail(head)?, number(tail, 2)?))
}

fn bin(text: &str) -> Option<String> {
    let (store, bin) = text.split_once('/')?;
    Some(format!("{}/{}", name(store)?, name(bin)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_have_one_written_form() {
        for (text, written) in
            [("+k12.2.7", "+K12.2.07"), (" +K12.02.007 ", "+K12.2.07"), ("+K1.1.120", "+K1.1.120")]
        {
            let slot = SlotAddress::parse(text).unwrap();
            assert_eq!(slot.as_str(), written);
        }
        let slot = SlotAddress::parse("+K12.2.07").unwrap();
        assert_eq!(
            (slot.rail().as_str(), slot.cabinet().as_str(), slot.number()),
            ("+K12.2", "+K12", "07")
        );
    }

    #[test]
    fn what_is_no_address_is_refused_with_an_example() {
        for text in ["K12.2.07", "+K12", "+K12.2", "+K12.2.", "+.2.07", "+K12.x.1", "+K12.2.07.1"] {
            let refusal = SlotAddress::parse(text).unwrap_err();
            assert!(refusal.to_string().contains("such as +K12.2.07"), "{text}");
        }
        assert!(BinPath::parse("ST1").is_err());
        assert_eq!(BinPath::parse("st1/a-03").unwrap().storeroom(), "ST1");
    }
}
