//! All horses, by name.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State;
use serde::Deserialize;

use super::store::{self, Listed};
use crate::{
    App,
    accounts::{Can, act},
    search::SearchBox,
    web::{Query, Result, Shell},
};

const ON_A_PAGE: usize = 50;

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct ListQuery {
    page: String,
    gone: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "horses/list.html")]
pub(super) struct ListPage {
    shell: Shell,
    search: SearchBox,
    horses: Vec<Listed>,
    gone: bool,
    page: usize,
    more: bool,
}

impl ListPage {
    fn before(&self) -> String {
        if self.page > 1 { self.address(self.page - 1) } else { String::new() }
    }

    fn after(&self) -> String {
        if self.more { self.address(self.page + 1) } else { String::new() }
    }

    fn address(&self, page: usize) -> String {
        format!("/horses?page={page}{}", if self.gone { "&gone=yes" } else { "" })
    }
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::SeeClients>,
    Query(query): Query<ListQuery>,
) -> Result<ListPage> {
    let page = query.page.parse::<usize>().unwrap_or(1).clamp(1, 100_000);
    let gone = query.gone == "yes";
    let mut horses = store::list(app.db.read(), gone, (page - 1) * ON_A_PAGE, ON_A_PAGE + 1).await?;
    let more = horses.len() > ON_A_PAGE;
    horses.truncate(ON_A_PAGE);
    Ok(ListPage { shell, search: SearchBox::of("horse"), horses, gone, page, more })
}
