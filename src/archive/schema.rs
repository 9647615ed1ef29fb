//! Which tables and columns there are, asked of the database, so that none that is added later is forgotten.

use serde_json::{Value, json};
use sqlx::SqliteConnection;

use super::words::{self, ANY, Kind, meaning_of};

#[derive(Debug, Clone)]
pub(super) struct Table {
    pub name: String,
    pub columns: Vec<Column>,
    pub refers: Vec<Reference>,
}

#[derive(Debug, Clone)]
pub(super) struct Column {
    pub name: String,
    pub kind: Kind,
    pub may_be_empty: bool,
}

/// A column whose value is that of a column of another table.
#[derive(Debug, Clone, sqlx::FromRow)]
pub(super) struct Reference {
    #[sqlx(rename = "from")]
    pub column: String,
    pub table: String,
    pub to: String,
}

#[derive(sqlx::FromRow)]
struct Asked {
    name: String,
    #[sqlx(rename = "type")]
    sqlite: String,
    notnull: bool,
    pk: i64,
}

impl Table {
    /// Its columns as SQL lists them.
    pub(super) fn listed(&self) -> String {
        self.columns.iter().map(|column| format!("\"{}\"", column.name)).collect::<Vec<_>>().join(", ")
    }

    /// As `tables.json` tells it.
    pub(super) fn told(&self) -> Value {
        let columns: Vec<Value> = self.columns.iter().map(|column| self.column_told(column)).collect();
        let words = meaning_of(&self.name, ANY).map_or("", |meaning| meaning.words);
        json!({ "name": self.name, "file": format!("tables/{}.jsonl", self.name), "words": words, "columns": columns })
    }

    fn column_told(&self, column: &Column) -> Value {
        let meaning = meaning_of(&self.name, &column.name);
        let mut told = json!({
            "name": column.name,
            "type": column.kind.words(),
            "words": meaning.map_or("", |meaning| meaning.words),
            "may_be_empty": column.may_be_empty,
        });
        if let Some(meaning) = meaning.filter(|meaning| !meaning.unit.is_empty()) {
            told["unit"] = meaning.unit.into();
        }
        if let Some(to) = self.refers.iter().find(|one| one.column == column.name) {
            told["refers_to"] = format!("{}.{}", to.table, to.to).into();
        }
        if self.name == "entry" && column.name == "body" {
            let told_of =
                |what| words::parts_of(what).into_iter().collect::<std::collections::BTreeMap<_, _>>();
            told["members"] = json!(told_of("entry.body"));
            told["kinds"] = json!(told_of("entry.kind"));
        }
        told
    }
}

/// Every table that goes into an archive, by name, with the columns that do.
pub(super) async fn tables(conn: &mut SqliteConnection) -> anyhow::Result<Vec<Table>> {
    let names: Vec<String> = sqlx::query_scalar(
        "select name from pragma_table_list
         where schema = 'main' and type = 'table' and name not like 'sqlite_%' and name not like '_sqlx_%' order by name",
    )
    .fetch_all(&mut *conn)
    .await?;
    let mut tables = Vec::new();
    for name in names {
        if meaning_of(&name, ANY).is_some_and(|meaning| meaning.kind == Kind::LeftOut) {
            continue;
        }
        let columns = columns(conn, &name).await?;
        let refers =
            sqlx::query_as(r#"select "from", "table", "to" from pragma_foreign_key_list(?) order by id"#)
                .bind(&name)
                .fetch_all(&mut *conn)
                .await?;
        tables.push(Table { name, columns, refers });
    }
    Ok(tables)
}

/// The columns that are kept: what is generated from others says nothing of its own.
async fn columns(conn: &mut SqliteConnection, table: &str) -> sqlx::Result<Vec<Column>> {
    let asked: Vec<Asked> = sqlx::query_as(
        r#"select name, type, "notnull", pk from pragma_table_xinfo(?) where hidden = 0 order by cid"#,
    )
    .bind(table)
    .fetch_all(conn)
    .await?;
    let column = |one: Asked| {
        let kind =
            meaning_of(table, &one.name).map_or_else(|| Kind::of_type(&one.sqlite), |meaning| meaning.kind);
        Column { may_be_empty: !one.notnull && one.pk == 0, name: one.name, kind }
    };
    Ok(asked.into_iter().map(column).filter(|column| column.kind != Kind::LeftOut).collect())
}
