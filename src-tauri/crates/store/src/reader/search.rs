use super::Reader;
use crate::StoreFault;
use rusqlite::params;

/// Something whose name begins with what was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Match {
    /// Table that it stands in, e.g. `unit`.
    pub table: &'static str,
    /// Its key there.
    pub key: String,
    /// The name that matched.
    pub name: String,
    /// A line to tell it from others.
    pub about: String,
}

/// Where names are looked up: table, column, and what is said about a find.
const INDEXES: [(&str, &str, &str); 8] = [
    ("unit", "key", "record ->> 'model'"),
    ("unit", "serial", "record ->> 'model'"),
    ("slot", "key", "record ->> 'title'"),
    ("cabinet", "key", "record ->> 'title'"),
    ("loop", "key", "record ->> 'service'"),
    ("model", "key", "record ->> 'title'"),
    ("bin", "key", "record ->> 'title'"),
    ("lot", "code", "record ->> 'model'"),
];

impl Reader<'_> {
    /// Finds what begins with a text; every index is walked no further than `limit`.
    ///
    /// An address may be typed without its `+`. Catalogue titles are searched for the text
    /// anywhere, since there are few of them.
    pub fn search(&self, text: &str, limit: u32) -> Result<Vec<Match>, StoreFault> {
        let typed = text.trim();
        if typed.is_empty() {
            return Ok(Vec::new());
        }
        let upper = typed.to_uppercase();
        let address = format!("+{}", upper.trim_start_matches('+'));
        let mut found: Vec<Match> = Vec::new();
        for (table, column, about) in INDEXES {
            let mut tries = vec![typed.to_owned(), upper.clone()];
            if matches!(table, "slot" | "cabinet") {
                tries.push(address.clone());
            }
            if column == "key" && table == "unit" {
                tries.push(upper.replace(['-', ' '], ""));
            }
            tries.sort_unstable();
            tries.dedup();
            for prefix in tries {
                self.prefix(table, column, about, &prefix, limit, &mut found)?;
            }
        }
        self.titles(typed, limit, &mut found)?;
        found.truncate(limit as usize);
        Ok(found)
    }

    fn prefix(
        &self,
        table: &'static str,
        column: &str,
        about: &str,
        prefix: &str,
        limit: u32,
        found: &mut Vec<Match>,
    ) -> Result<(), StoreFault> {
        let sql = format!(
            "SELECT key, {column}, {about} FROM {table} \
             WHERE {column} >= ?1 AND {column} < ?1 || char(1114111) ORDER BY {column} LIMIT ?2"
        );
        self.collect(&sql, table, prefix, limit, found)
    }

    fn titles(&self, text: &str, limit: u32, found: &mut Vec<Match>) -> Result<(), StoreFault> {
        let sql = "SELECT key, key, record ->> 'title' FROM model \
                   WHERE instr(lower(record ->> 'title'), lower(?1)) > 0 ORDER BY key LIMIT ?2";
        self.collect(sql, "model", text, limit, found)
    }

    fn collect(
        &self,
        sql: &str,
        table: &'static str,
        text: &str,
        limit: u32,
        found: &mut Vec<Match>,
    ) -> Result<(), StoreFault> {
        let mut statement = self.conn.prepare_cached(sql)?;
        let mut rows = statement.query(params![text, limit])?;
        while let Some(row) = rows.next()? {
            let key: String = row.get(0)?;
            if found.iter().any(|known| known.table == table && known.key == key) {
                continue;
            }
            let about: Option<String> = row.get(2)?;
            found.push(Match { table, key, name: row.get(1)?, about: about.unwrap_or_default() });
        }
        Ok(())
    }
}
