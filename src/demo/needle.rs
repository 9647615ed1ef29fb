//! A block of a course and its answer: `L4P LF 3 10 TRT_SH 2 0.5`. In that order: the block, its limb, ml at each
//! site, minutes until it was looked at, how it was watched, the grades before and after, and the limb that the
//! lameness moved to, if it did.

use anyhow::{Context, bail, ensure};

use super::line;
use crate::{
    catalogue::{Block, BlockKind, Limb, catalogue},
    record::{After, Body, Given, Kind},
};

const AGENT: &str = "mepivacaine";

/// Leave for the needles of these lines, of each sort that they need.
pub(super) fn consents(lines: &[String], by: &str) -> anyhow::Result<Vec<Body>> {
    let blocks: Vec<&Block> = lines.iter().map(|line| block_of(line)).collect::<anyhow::Result<_>>()?;
    let synovial = |block: &&Block| block.kind == BlockKind::Synovial;
    let needed = [("blocks", !blocks.iter().all(synovial)), ("injections", blocks.iter().any(synovial))];
    let leave = |(what, _)| Body {
        code: Some(String::from(what)),
        present: Some(true),
        held_by: Some(by.to_owned()),
        value: Some("in person".to_owned()),
        ..Body::new(Kind::Consent)
    };
    Ok(needed.into_iter().filter(|(_, needed)| *needed).map(leave).collect())
}

/// The block and what was seen after it, in two groups; the second is about the first, at its own time.
pub(super) fn block(text: &str) -> anyhow::Result<[Vec<Body>; 2]> {
    let parts: Vec<&str> = text.split_whitespace().collect();
    let &[_, limb, ml, minutes, condition, before, after, ref switched @ ..] = parts.as_slice() else {
        bail!("`{text}` is not a block with its answer")
    };
    let switched = switched.first().map(|limb| limb.parse::<Limb>()).transpose()?;
    let block = block_of(text)?;
    let limb: Limb = limb.parse()?;
    ensure!(catalogue().condition(condition).is_some(), "`{text}` names no condition");
    let reach = catalogue().localise.clocks.get(&block.code);
    let agent = catalogue().localise.agents.get(AGENT).context("the usual agent is gone")?;
    let given = Given {
        agent: Some(AGENT.to_owned()),
        mg_per_ml: Some(agent.mg_per_ml),
        volume_ml: Some(ml.parse()?),
        sites: reach.map(|clock| clock.sites),
        ..Given::default()
    };
    let needle = Body {
        limb: Some(limb.code().to_owned()),
        code: Some(block.code.clone()),
        given: Some(given),
        ..Body::new(Kind::Block)
    };
    let mut answer = Body {
        limb: needle.limb.clone(),
        value: needle.code.clone(),
        code: Some(condition.to_owned()),
        after: Some(After {
            minutes: Some(minutes.parse()?),
            before: Some(before.parse()?),
            switched_to: switched.map(|limb| limb.code().to_owned()),
            // What goes into a joint numbs no skin.
            skin_numb: (block.kind != BlockKind::Synovial).then_some(true),
            ..After::default()
        }),
        ..Body::new(Kind::Reading)
    };
    line::graded(&mut answer, "aaep_0_5", after.parse()?)?;
    Ok([vec![needle], vec![answer]])
}

fn block_of(text: &str) -> anyhow::Result<&'static Block> {
    let code = text.split_whitespace().next().unwrap_or_default();
    catalogue().block(code).with_context(|| format!("`{text}` names no block"))
}
