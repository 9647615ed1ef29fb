//! `limbledger demo`: fills an empty folder with the invented practice, says how to sign in, and serves it.

use std::{
    fs,
    io::Write,
    path::{Path, PathBuf},
    time::Instant,
};

use anyhow::{Context, bail};
use indicatif::{ProgressBar, ProgressStyle};

use super::serve;
use crate::{
    App, accounts,
    clock::Clock,
    config::{DemoArgs, ServeArgs},
    db::Db,
    demo::{self, SignIn},
    say,
};

const SIGN_INS: &str = "demo-sign-ins.tsv";
/// Its name on the LAN: a practice that tries it beside its own server keeps `limbledger.local` to itself.
const NAME: &str = "limbledger-demo";

pub async fn run(args: DemoArgs) -> anyhow::Result<()> {
    let data = empty_folder(args.data.as_deref())?;
    let _lock = serve::lock(&data)?;
    let clock = Clock::System;
    let db = Db::open(&data, clock.now()).await?;
    let hasher = accounts::Hasher::new()?;
    let begun = Instant::now();
    let bar = progress_bar();
    let sign_ins = demo::fill(&db, &hasher, clock.now(), args.years, |done, all| {
        bar.set_length(u64::try_from(all).unwrap_or(0));
        bar.set_position(u64::try_from(done).unwrap_or(0));
    })
    .await?;
    bar.finish_and_clear();
    say::aside(format_args!("Filled {} in {:.1} s.", data.display(), begun.elapsed().as_secs_f32()));
    write_sign_ins(&data.join(SIGN_INS), &sign_ins)?;
    say::line(lines(&sign_ins).trim_end());
    if args.fill_only {
        db.close().await;
        return Ok(());
    }
    say::aside(
        "Sign in with a name and a password from above; every page says that the practice is invented.",
    );
    let app = App::new(db, clock, hasher, None);
    let args = ServeArgs { data, listen: args.listen, name: Some(NAME.into()), ..ServeArgs::default() };
    serve::serve_app(app, args).await
}

fn progress_bar() -> ProgressBar {
    let style = ProgressStyle::with_template("Filling the invented practice {bar:40} {pos} of {len} visits");
    ProgressBar::new(0).with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()))
}

/// The folder asked for, if it is absent or empty; otherwise a fresh one among the system's temporary files.
fn empty_folder(asked: Option<&Path>) -> anyhow::Result<PathBuf> {
    let Some(folder) = asked else {
        let name = format!("limbledger-demo-{}", crate::ids::SubmissionId::new());
        let folder = std::env::temp_dir().join(name);
        make_private(&folder)?;
        return Ok(folder);
    };
    if folder.exists() {
        let mut inside = fs::read_dir(folder)
            .with_context(|| format!("{} cannot be read; choose another --data", folder.display()))?;
        if inside.next().is_some() {
            bail!("{} is not empty; give --data a folder that is empty or not there yet", folder.display());
        }
    } else {
        make_private(folder)?;
    }
    Ok(folder.to_owned())
}

fn make_private(folder: &Path) -> anyhow::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder
        .create(folder)
        .with_context(|| format!("{} cannot be made; choose another --data", folder.display()))
}

fn lines(sign_ins: &[SignIn]) -> String {
    let line = |s: &SignIn| [s.role.key(), &s.name, &s.password].join("\t") + "\n";
    sign_ins.iter().map(line).collect()
}

fn write_sign_ins(path: &Path, sign_ins: &[SignIn]) -> anyhow::Result<()> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path).with_context(|| format!("{} cannot be written", path.display()))?;
    file.write_all(lines(sign_ins).as_bytes())?;
    file.sync_all()?;
    Ok(())
}
