//! Named rules: what each asks, how grave it is when broken, and what a site may set about it.
//!
//! A table of [`Rule`] is data; the function that judges stands beside it in the module of its
//! noun. A site reads the tables, switches rules and sets their limits in `site.json`.

pub mod facts;
pub mod own;

use std::collections::BTreeMap;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Severity {
    /// In order.
    Pass,
    /// Worth knowing.
    Note,
    /// Go on with care.
    Caution,
    /// Do not go on.
    Stop,
}

impl Severity {
    pub fn word(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Note => "note",
            Self::Caution => "caution",
            Self::Stop => "stop",
        }
    }

    pub fn parse(word: &str) -> Option<Self> {
        [Self::Pass, Self::Note, Self::Caution, Self::Stop].into_iter().find(|s| s.word() == word)
    }
}

/// One rule, before a site sets anything about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    pub name: &'static str,
    /// What it asks for, in one sentence.
    pub asks: &'static str,
    /// How grave it is when it is broken.
    pub severity: Severity,
    /// How grave it is when data are missing to judge by.
    pub unknown: Severity,
    /// Protects people or is mechanical: a site can neither switch it off nor soften it.
    pub fixed: bool,
    pub limits: &'static [Limit],
    /// Where it is from.
    pub source: &'static str,
}

/// A figure that a rule compares with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// With its unit, e.g. `distance_mm`.
    pub name: &'static str,
    pub doc: &'static str,
    /// Where the site sets none.
    pub value: f64,
    pub least: f64,
    pub most: f64,
}

/// What a site sets about one rule.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleSetting {
    pub name: String,
    pub on: bool,
    /// How grave a break is here; none: as the rule says.
    pub severity: Option<Severity>,
    pub limits: BTreeMap<String, f64>,
}

/// A rule as a site keeps it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kept<'a> {
    pub rule: &'a Rule,
    pub on: bool,
    pub severity: Severity,
    setting: Option<&'a RuleSetting>,
}

/// Which setting cannot be kept, and what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{field} of rule {name:?} is {value}: {to_do}")]
pub struct SettingRefusal {
    /// Which of the settings, from 0.
    pub at: usize,
    /// Field within it: `name`, `on`, `severity` or `limits/...`.
    pub field: String,
    pub name: String,
    pub value: String,
    pub to_do: String,
}

/// Every rule that a site can set.
pub fn known() -> impl Iterator<Item = &'static Rule> + Clone {
    crate::lineup::specs().chain(crate::swap::specs())
}

/// Returns a rule with what a site sets about it.
pub fn kept<'a>(rule: &'a Rule, settings: &'a [RuleSetting]) -> Kept<'a> {
    let setting = settings.iter().find(|setting| setting.name == rule.name);
    let severity = setting.and_then(|setting| setting.severity).unwrap_or(rule.severity);
    Kept {
        rule,
        on: rule.fixed || setting.is_none_or(|setting| setting.on),
        severity: if rule.fixed { rule.severity.max(severity) } else { severity },
        setting,
    }
}

impl Kept<'_> {
    /// The figure that holds here. Not a number where the rule has no such limit.
    pub fn limit(&self, name: &str) -> f64 {
        let set = self.setting.and_then(|setting| setting.limits.get(name).copied());
        let ours = self.rule.limits.iter().find(|limit| limit.name == name);
        set.or(ours.map(|limit| limit.value)).unwrap_or(f64::NAN)
    }

    /// How grave missing data is: never graver than a break of the rule would be.
    pub fn unknown(&self) -> Severity {
        self.rule.unknown.min(self.severity)
    }
}

/// Fails with the first setting that names no known rule or limit, stands twice, is out of the
/// limit's range, or softens a fixed rule.
pub fn check<'a>(
    settings: &[RuleSetting],
    known: impl Iterator<Item = &'a Rule> + Clone,
) -> Result<(), SettingRefusal> {
    for (at, setting) in settings.iter().enumerate() {
        let refuse = |field: &str, value: String, to_do: String| {
            let (field, name) = (field.to_owned(), setting.name.clone());
            Err(SettingRefusal { at, field, name, value, to_do })
        };
        let Some(rule) = known.clone().find(|rule| rule.name == setting.name) else {
            let names: Vec<_> = known.map(|rule| rule.name).collect();
            let to_do = format!("write one of {}", names.join(", "));
            return refuse("name", format!("{:?}", setting.name), to_do);
        };
        if settings[..at].iter().any(|before| before.name == setting.name) {
            let to_do = "say everything about a rule in one place";
            return refuse("name", format!("{:?} again", setting.name), to_do.to_owned());
        }
        if rule.fixed && !setting.on {
            let to_do = "leave it on: nobody may switch this rule off";
            return refuse("on", "false".to_owned(), to_do.to_owned());
        }
        match setting.severity {
            Some(Severity::Pass) => {
                let to_do = "write note, caution or stop, or switch the rule off";
                return refuse("severity", "pass".to_owned(), to_do.to_owned());
            }
            Some(severity) if rule.fixed && severity < rule.severity => {
                let to_do = format!("leave it at {}: nobody may soften it", rule.severity.word());
                return refuse("severity", severity.word().to_owned(), to_do);
            }
            _ => {}
        }
        for (name, value) in &setting.limits {
            let field = format!("limits/{name}");
            let Some(limit) = rule.limits.iter().find(|limit| limit.name == name) else {
                let names: Vec<_> = rule.limits.iter().map(|limit| limit.name).collect();
                let to_do = match names.as_slice() {
                    [] => "this rule has no limits: leave it out".to_owned(),
                    names => format!("its limits are {}", names.join(", ")),
                };
                return refuse(&field, value.to_string(), to_do);
            };
            if !(limit.least..=limit.most).contains(value) {
                let to_do = format!("write a figure from {} to {}", limit.least, limit.most);
                return refuse(&field, value.to_string(), to_do);
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: &[Limit] =
        &[Limit { name: "gap_mm", doc: "", value: 0.5, least: 0.0, most: 10.0 }];
    const SOFT: Rule = Rule {
        name: "row",
        asks: "",
        severity: Severity::Caution,
        unknown: Severity::Caution,
        fixed: false,
        limits: LIMITS,
        source: "",
    };
    const FIXED: Rule = Rule { name: "keys", severity: Severity::Stop, fixed: true, ..SOFT };

    fn set(name: &str, on: bool, severity: Option<Severity>, gap_mm: Option<f64>) -> RuleSetting {
        let limits = gap_mm.map(|gap_mm| ("gap_mm".to_owned(), gap_mm));
        RuleSetting { name: name.to_owned(), on, severity, limits: limits.into_iter().collect() }
    }

    #[test]
    fn a_site_switches_and_sets_what_is_not_fixed() {
        let settings = [set("row", false, Some(Severity::Note), Some(2.0))];
        let here = kept(&SOFT, &settings);
        assert!(!here.on);
        assert_eq!((here.severity, here.unknown()), (Severity::Note, Severity::Note));
        assert_eq!(here.limit("gap_mm"), 2.0);
        assert!(here.limit("other").is_nan());
        let ours = kept(&SOFT, &[]);
        assert_eq!((ours.on, ours.severity, ours.limit("gap_mm")), (true, SOFT.severity, 0.5));
        let settings = [set("keys", false, Some(Severity::Note), None)];
        assert_eq!(
            (kept(&FIXED, &settings).on, kept(&FIXED, &settings).severity),
            (true, Severity::Stop)
        );
    }

    #[test]
    fn what_cannot_be_kept_is_refused_by_name() {
        let check = |setting: RuleSetting| check(&[setting], [&SOFT, &FIXED].into_iter());
        assert_eq!(check(set("row", true, Some(Severity::Stop), Some(10.0))), Ok(()));
        for (setting, field, said) in [
            (set("rows", true, None, None), "name", "row, keys"),
            (set("keys", false, None, None), "on", "switch this rule off"),
            (set("keys", true, Some(Severity::Note), None), "severity", "leave it at stop"),
            (set("row", true, Some(Severity::Pass), None), "severity", "note, caution or stop"),
            (set("row", true, None, Some(11.0)), "limits/gap_mm", "from 0 to 10"),
            (set("row", true, None, Some(f64::NAN)), "limits/gap_mm", "from 0 to 10"),
        ] {
            let refusal = check(setting).unwrap_err();
            assert_eq!(refusal.field, field);
            assert!(refusal.to_do.contains(said), "{refusal}");
        }
        let twice = [set("row", true, None, None), set("row", true, None, None)];
        assert_eq!(super::check(&twice, [&SOFT].into_iter()).unwrap_err().at, 1);
    }
}
