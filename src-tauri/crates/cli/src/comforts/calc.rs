use crate::field::Kind;
use crate::outcome::Stop;
use crate::session::Session;
use crate::{output, show};
use clap::Args;
use serde_json::{Value, json};
use slotkeep_api::calc::{self, Formula};
use slotkeep_api::{Failure, FailureKind};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub struct Calc {
    /// The formula; --list names them
    #[arg(value_name = "NAME", required_unless_present = "list")]
    name: Option<String>,
    /// Its figures as JSON; - reads them from standard input
    #[arg(value_name = "JSON", default_value = "{}")]
    input: String,
    /// A table of demands (CSV: a heading, then a row for each item: its name and its months), put
    /// into the figures as `series`
    #[arg(long, value_name = "FILE")]
    series: Option<PathBuf>,
    /// List the formulas, or describe the one that is named: fields, units and reply
    #[arg(long)]
    list: bool,
}

impl Calc {
    pub fn run(&self, session: &Session) -> Result<(), Stop> {
        match &self.name {
            Some(name) if !self.list => {
                let reply = calc::run(name, self.figures()?).map_err(Failure::from)?;
                Ok(output::reply(&reply, session.json())?)
            }
            name => list(name.as_deref(), session.json()),
        }
    }

    fn figures(&self) -> Result<Value, Failure> {
        let bytes;
        let text = if self.input == "-" {
            bytes = output::read_file(Path::new("-"))?;
            String::from_utf8_lossy(&bytes)
        } else {
            self.input.as_str().into()
        };
        let mut figures = Kind::Json { shape: "e.g. {\"field\": 1.5}".to_owned() }
            .parse(&text)
            .map_err(|expected| Failure::bad_input(format!("the figures: {expected}")))?;
        if let (Some(file), Some(figures)) = (&self.series, figures.as_object_mut()) {
            let table = output::read_file(file)?;
            let series = calc::series(&String::from_utf8_lossy(&table))
                .map_err(|wrong| Failure::bad_input(format!("{}: {wrong}", file.display())))?;
            figures.insert("series".to_owned(), series);
        }
        Ok(figures)
    }
}

fn list(name: Option<&str>, as_json: bool) -> Result<(), Stop> {
    let mut formulas = calc::list();
    if let Some(name) = name {
        formulas.retain(|formula| formula.name == name);
        if formulas.is_empty() {
            let message = format!("there is no formula {name:?}: `slotkeep calc --list` has all");
            return Err(Failure::new(FailureKind::NotFound, message).into());
        }
    }
    if as_json {
        return Ok(output::reply(&json!(formulas), true)?);
    }
    let mut text = String::new();
    for formula in &formulas {
        describe(&mut text, formula);
    }
    Ok(output::print(&text)?)
}

fn describe(text: &mut String, formula: &Formula) {
    let page = output::page();
    let _ = writeln!(text, "{}: {}\n", formula.name, formula.doc.trim());
    for (title, fields) in [("takes", &formula.fields), ("gives", &formula.reply)] {
        let rows = fields.iter().map(|field| {
            json!({
                title: field.name,
                "kind": field.kind,
                "unit": field.unit,
                "must": if field.required && title == "takes" { "yes" } else { "" },
                "about": field.doc.trim(),
            })
        });
        let mut rows: Vec<Value> = rows.collect();
        if title == "gives" {
            for row in rows.iter_mut().filter_map(Value::as_object_mut) {
                row.shift_remove("must");
            }
        }
        text.push_str(&show::render(&Value::Array(rows), &page));
        text.push('\n');
    }
}
