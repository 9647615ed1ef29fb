//! `limbledger import archive`: makes the practice of an archive again, in a folder that holds none.

use super::place;
use crate::{
    archive::{self, Found, Made},
    clock::Clock,
    config::ImportArchiveArgs,
    ids::SubmissionId,
    say,
    scratch::Scratch,
};

pub async fn archive(args: ImportArchiveArgs) -> anyhow::Result<()> {
    place::free(&args.data)?;
    let file = args.file.clone();
    let mut found = tokio::task::spawn_blocking(move || Found::open(&file)).await??;
    let manifest = &found.manifest;
    say::aside(format_args!(
        "An archive of {}, made on {} by version {}: every file is as its manifest says.",
        manifest.practice, manifest.made_at, manifest.program
    ));
    if args.dry_run {
        let scratch = Scratch::new(std::env::temp_dir().join(format!("limbledger-{}", SubmissionId::new())))?;
        let made = archive::try_out(&mut found, scratch.path()).await?;
        say::line(format_args!("{}. Nothing was written.", words(&made)));
        return Ok(());
    }
    let made =
        place::put(&args.data, async |folder| archive::make(&mut found, folder, Clock::System.now()).await)
            .await?;
    say::line(format_args!("{}: {}", args.data.display(), words(&made)));
    say::aside(
        "Nobody has a password yet: an archive holds none. Give each a code that opens the account once, and they \
         choose a password with it:",
    );
    for name in &made.people {
        say::aside(format_args!("  limbledger staff code {name:?} --data {}", args.data.display()));
    }
    Ok(())
}

fn words(made: &Made) -> String {
    let missing = match made.missing {
        0 => String::new(),
        many => format!(" ({many} more are missing, as the archive says)"),
    };
    format!(
        "{} rows in {} tables, {} files{missing}; the record holds {} entries and its chain holds",
        made.rows, made.tables, made.files, made.entries
    )
}
