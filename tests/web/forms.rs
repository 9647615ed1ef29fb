//! Every form of every page: a filled practice is walked from link to link as everybody who works in it, and each
//! form that a page shows is sent with what nobody should send, field by field; twice; after somebody else changed
//! the same thing; after the visit was signed; and by those who may not.
//!
//! `FORMS` has a row for each form, with what makes it good. A form without a row fails, and so does a row without
//! a form, and a route that takes forms but that no page leads to.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

mod added;

use axum::http::StatusCode;

use crate::{
    access,
    support::{
        BAD_INPUTS, Browser, LET_THROUGH, PASSWORD, Page, as_a_page_keeps_it,
        filled::{CODE, Filled, WHO},
        forms::{FoundForm, Kind, pattern},
    },
};

/// A form as it is known: where it leads, a field that tells it from others that lead there, and what to fill in so
/// that it is taken.
pub struct Known {
    pub action: &'static str,
    has: &'static str,
    with: &'static [(&'static str, &'static str)],
    dates: &'static [&'static str],
}

const fn form(
    action: &'static str,
    has: &'static str,
    with: &'static [(&'static str, &'static str)],
    dates: &'static [&'static str],
) -> Known {
    Known { action, has, with, dates }
}

const NEW_PASSWORD: &str = "lantern under the ninth gate";

/// The form that records nothing, and shows another one for what it read.
const READ_LINE: &str = "/visits/{id}/exam/line";

/// What only a script sends, what sends a file (see `photos`, `videos`, `imaging`, `imports`,
/// `diagnostics_results`), what is only there before the practice is, and what is kept once (see `charges`, `backups`).
const NO_FORM: [&str; 14] = [
    "/practice/backups/now",
    "/practice/prices/currency",
    "/practice/imports",
    "/tablet/key",
    "/visits/{id}/exam/entries/note",
    "/visits/{id}/exam/entries/discarded",
    "/visits/{id}/exam/unsent",
    "/visits/{id}/photos",
    "/visits/{id}/videos",
    "/videos/uploads",
    "/videos/uploads/{id}/finish",
    "/diagnostics/arrivals",
    "/diagnostics/{id}/files",
    "/set-up",
];

const TOO_LONG: &str = "10,000 characters";
/// More fields in which one types than these share out the inputs that are not sent to each of them, among so many at most.
const MANY: usize = 3;
const SHARED: usize = 5;

/// What every field of such a form meets.
const ALWAYS: [&str; 2] = ["markup", TOO_LONG];

/// What a page put there or a tap chose is bent on purpose only.
const ENOUGH: [&str; 4] = ["empty", "markup", "an absurd number", TOO_LONG];

/// The sole of a foot, marked on a picture of two by two pixels.
const FOOT: &[(&str, &str)] = &[
    ("point-G1", "0,2"),
    ("point-G2", "2,2"),
    ("point-T", "1.5,1.5"),
    ("point-Q", "0.5,1"),
    ("scale", "none"),
    ("view", "LM"),
    ("limb", "RF"),
];

const CALL: &[(&str, &str)] =
    &[("channel", "phone"), ("way", "in"), ("person", "Anna Marsh"), ("words", "Asked about a bill.")];

const FORMS: &[Known] = &[
    // The door.
    form("/sign-in", "", &[("name", "Dell Test"), ("password", PASSWORD)], &[]),
    form("/locked", "", &[("secret", PASSWORD)], &[]),
    form("/lock", "", &[], &[]),
    form("/sign-out", "", &[], &[]),
    form(
        "/me/password",
        "",
        &[("current", PASSWORD), ("password", NEW_PASSWORD), ("password_again", NEW_PASSWORD)],
        &[],
    ),
    form("/me/pin", "", &[("pin_current", PASSWORD), ("pin", "295071"), ("pin_again", "295071")], &[]),
    form("/me/sessions/{id}/end", "", &[], &[]),
    form("/sign-in/code", "", &[("code", CODE)], &[]),
    form("/me/second-factor/begin", "factor_new", &[("current", PASSWORD), ("factor_new", CODE)], &[]),
    form("/me/second-factor/begin", "", &[("current", PASSWORD)], &[]),
    form("/me/second-factor/confirm", "", &[("factor", CODE)], &[]),
    form("/me/second-factor/later", "", &[], &[]),
    form("/me/second-factor/codes", "", &[("factor_codes", CODE)], &[]),
    form("/me/second-factor/remove", "", &[("current_off", PASSWORD), ("factor_off", CODE)], &[]),
    form("/me/first-password", "", &[("password", NEW_PASSWORD), ("password_again", NEW_PASSWORD)], &[]),
    // The desk.
    form("/clients", "", &[("name", "Anna Marsh"), ("kind", "person")], &[]),
    form("/clients/{id}", "", &[("name", "Anna Marsh")], &[]),
    form("/clients/{id}/contacts", "", CALL, &["on"]),
    form("/clients/{id}/wishes", "", &[("wish_channel", "text"), ("wanted", "no")], &[]),
    form("/clients/{id}/merge", "", &[("reason", "the same telephone")], &[]),
    form("/horses/{id}/contacts", "", CALL, &["on"]),
    form("/horses/{id}/merge", "", &[("reason", "the same horse under two names")], &[]),
    form("/visits/{id}/message", "", &[("words", "She comes at noon."), ("channel", "phone")], &[]),
    form("/yards", "", &[("name", "Hill Yard")], &[]),
    form("/yards/{id}", "", &[("name", "Hill Yard")], &[]),
    form("/horses", "", &[("name", "Tansy"), ("sex", "female")], &["born"]),
    form("/horses/{id}", "", &[("name", "Tansy"), ("sex", "female")], &["born"]),
    form("/horses/{id}/parties", "", &[("client", "Corra Test"), ("role", "trainer")], &[]),
    form("/horses/{id}/parties/{id}/remove", "", &[], &[]),
    form("/horses/{id}/status", "", &[("status", "retired"), ("since", "10 Mar 2026")], &["since"]),
    form(
        "/horses/{id}/weights",
        "",
        &[("weight", "520"), ("method", "scale"), ("weighed_on", "10 Mar 2026")],
        &["weighed_on"],
    ),
    form("/horses/{id}/condition", "", &[("bcs", "5.5"), ("crest", "2")], &["scored_on"]),
    form("/horses/{id}/visits", "", &[], &[]),
    form("/follow-ups/{id}/done", "", &[], &[]),
    form("/follow-ups/{id}/drop", "", &[("reason", "sound")], &[]),
    form(
        "/call",
        "client_name",
        &[
            ("client_name", "Anna Marsh"),
            ("client_phone", "0555 01 42"),
            ("horse_name", "Tansy"),
            ("horse_sex", "female"),
            ("words-1", "lame"),
            ("slot", "*"),
        ],
        &["day"],
    ),
    form("/call", "", &[("words-1", "lame"), ("slot", "*")], &["day"]),
    form("/away/visits", "", &[("name", "Tansy"), ("client", "Somebody, 0170"), ("words", "Lame.")], &[]),
    form("/routes", "", &[], &[]),
    form("/rota", "", &[], &[]),
    form("/to-tell/{id}", "", &[], &[]),
    form(
        "/horses/{id}/biosecurity",
        "",
        &[("kind", "isolated"), ("from_on", "10 Mar 2026"), ("reason", "new on the yard")],
        &["from_on", "until_on"],
    ),
    form(
        "/yards/{id}/biosecurity",
        "",
        &[("kind", "suspected"), ("from_on", "10 Mar 2026"), ("reason", "three coughs")],
        &["from_on", "until_on"],
    ),
    form(
        "/horses/{id}/record/taken",
        "",
        &[("take", "archive"), ("whole", "yes"), ("why", "her former owner allows it")],
        &[],
    ),
    form("/horses/{id}/record/holds", "", &[("reason", "a letter of a lawyer")], &[]),
    form("/horses/{id}/record/holds/{id}/lift", "", &[("lifted_why", "settled")], &[]),
    form("/horses/{id}/record/copies", "", &[("asked_by", "Anna Marsh"), ("how", "letter")], &["asked_on"]),
    form("/horses/{id}/record/copies/{id}/given", "", &[("given_how", "by post to her")], &["given_on"]),
    form("/practice/record-keeping", "", &[("years", "10")], &[]),
    form(
        "/practice/prices",
        "",
        &[("code", "C1"), ("words", "Certificate"), ("charge", "certificate"), ("price", "12.50")],
        &["valid_from"],
    ),
    form("/practice/prices/{id}/end", "", &[("new_price", "70")], &["ends_on"]),
    form("/practice/charges", "", &[], &[]),
    form("/visits/{id}/charges", "", &[("leave-*", "part of the visit")], &[]),
    form(
        "/visits/{id}/charges/own",
        "",
        &[("own_price", "*"), ("own_quantity", "2"), ("own_payer", "*")],
        &[],
    ),
    form("/visits/{id}/charges/{id}/reverse", "", &[("reason", "another owner")], &[]),
    form("/biosecurity/{id}/lift", "", &[("lifted", "two negative swabs")], &[]),
    form("/biosecurity/authority", "", &[("name", "The office"), ("phone", "0555 00")], &[]),
    form("/departures", "", &[], &[]),
    // The visit.
    form("/visits/{id}/steps", "reason", &[("reason", "the truck broke down")], &[]),
    form("/visits/{id}/steps", "", &[], &[]),
    form("/visits/{id}/complaints", "", &[("words-1", "lame")], &[]),
    form("/visits/{id}/move", "", &[("slot", "*"), ("reason", "the truck broke down")], &["day"]),
    form("/visits/{id}/stop", "", &[], &[]),
    form("/visits/{id}/horse", "", &[("reason", "two bays side by side")], &[]),
    form("/visits/{id}/handover", "", &[("to", "*"), ("line", "Blocks are still to come.")], &[]),
    form("/visits/{id}/handover/answer", "", &[], &[]),
    // The exam.
    form("/visits/{id}/exam/entries/nothing", "", &[], &[]),
    form("/visits/{id}/exam/entries/sweep", "", &[], &[]),
    form("/visits/{id}/exam/entries/undo", "", &[], &[]),
    form("/visits/{id}/exam/entries/finding", "note", &[("note", "cool to the hand")], &[]),
    form("/visits/{id}/exam/entries/finding", "answer", &[("answer", "2 Mar 2026")], &["answer"]),
    form("/visits/{id}/exam/entries/finding", "value", &[("value", "*")], &[]),
    form("/visits/{id}/exam/entries/finding", "", &[], &[]),
    form("/visits/{id}/exam/entries/barred", "", &[], &[]),
    form("/visits/{id}/exam/entries/withdraw", "", &[], &[]),
    form("/visits/{id}/exam/vitals", "", &[("temp_c", "38")], &[]),
    form(
        "/visits/{id}/exam/standing",
        "score_number",
        &[("tap", "score:"), ("score_kind", "pain_face"), ("score_number", "3"), ("score_by", "V")],
        &[],
    ),
    form("/visits/{id}/exam/standing", "conformation", &[("conformation", "even")], &[]),
    form("/visits/{id}/exam/standing", "", &[], &[]),
    form("/visits/{id}/exam/gait", "", &[], &[]),
    form("/visits/{id}/exam/flexion", "", &[("seconds-*", "*")], &[]),
    form("/visits/{id}/exam/neuro", "neuro_note", &[("neuro_note", "steady")], &[]),
    form("/visits/{id}/exam/neuro", "", &[], &[]),
    form("/visits/{id}/exam/caution", "", &[("caution_reason", "the owner insists")], &[]),
    form(READ_LINE, "", &[("line", "LF fetlock effusion 2, RH upper flexion 2, owner says stiff")], &[]),
    form("/visits/{id}/exam/line/record", "", &[("line_reason", "the owner insists")], &[]),
    // The work-up.
    form(
        "/visits/{id}/work-up/block",
        "consent",
        &[
            ("consent", "given"),
            ("consent_by", "Anna Marsh"),
            ("consent_how", "by phone"),
            ("volume", "5"),
            ("agent", "mepivacaine"),
        ],
        &[],
    ),
    form("/visits/{id}/work-up/block", "", &[("volume", "1.5"), ("agent", "mepivacaine")], &[]),
    form(
        "/visits/{id}/work-up/consents",
        "",
        &[
            ("what", "biopsy"),
            ("consent", "given"),
            ("consent_by", "Anna Marsh"),
            ("consent_how", "by phone"),
            ("estimate", "300 to 400, with the laboratory"),
        ],
        &[],
    ),
    form("/visits/{id}/work-up/cautions", "", &[("code", "*"), ("words", "since Monday")], &[]),
    form("/visits/{id}/work-up/go-on", "", &[("reason", "the owner insists")], &[]),
    form(
        "/visits/{id}/work-up/sedation",
        "",
        &[
            ("consent", "given"),
            ("consent_by", "Anna Marsh"),
            ("consent_how", "by phone"),
            ("sedative", "detomidine 0.01 mg a kg"),
        ],
        &[],
    ),
    form("/visits/{id}/work-up/leaving", "", &[("watch", "the pastern")], &[]),
    form("/visits/{id}/work-up/blocks/{id}/reading", "", &[("after", "*"), ("before", "3")], &[]),
    form("/visits/{id}/work-up/entries/{id}/withdraw", "", &[("why", "the wrong limb")], &[]),
    // Diagnostics.
    form("/visits/{id}/diagnostics/usual", "", &[], &[]),
    form("/visits/{id}/diagnostics/sets", "", &[], &["planned_on"]),
    form("/visits/{id}/diagnostics", "suspicion", &[("item", "*")], &["planned_on"]),
    form("/visits/{id}/diagnostics", "", &[("item", "*"), ("limb", "*")], &["planned_on"]),
    form("/diagnostics/{id}/ready", "", &[], &[]),
    form("/diagnostics/{id}/taken", "", &[], &[]),
    form("/diagnostics/{id}/items/{id}", "reason", &[("reason", "moved")], &[]),
    form("/diagnostics/{id}/items/{id}", "", &[], &[]),
    form("/diagnostics/{id}/details", "", &[], &["planned_on"]),
    form("/diagnostics/{id}/report", "why", &[("report", "Unremarkable."), ("why", "read again")], &[]),
    form("/diagnostics/{id}/report", "", &[("report", "Unremarkable.")], &[]),
    form("/diagnostics/{id}/shown", "why", &[("shows", "a spur"), ("why", "read again")], &[]),
    form("/diagnostics/{id}/shown", "", &[("shows", "a spur"), ("site", "*")], &[]),
    form("/diagnostics/{id}/results/{id}/withdraw", "", &[("why_back", "the wrong horse")], &[]),
    form("/images/{id}/measure", "why", &[("why", "marked again")], &[]),
    form("/images/{id}/measure", "", FOOT, &[]),
    form("/diagnostics/{id}/read", "", &[], &[]),
    form("/diagnostics/{id}/told", "nobody", &[("untold", "they stood beside")], &[]),
    form("/diagnostics/{id}/told", "", &[("told", "Anna Marsh, by phone")], &[]),
    form("/diagnostics/{id}/close", "", &[("closed", "the horse was sold")], &[]),
    form("/diagnostics/{id}/open", "", &[], &[]),
    // The bone scan.
    form(
        "/diagnostics/{id}/scan/injection",
        "",
        &[
            ("agent", "oxidronate (HDP)"),
            ("inj_on", "2026-03-11"),
            ("inj_at", "8:30"),
            ("full", "5000"),
            ("full_at", "8:00"),
            ("left", "100"),
            ("left_at", "8:45"),
            ("why", "mistyped"),
        ],
        &["inj_on"],
    ),
    form(
        "/diagnostics/{id}/scan/region",
        "",
        &[
            ("part", "navicular bone"),
            ("protocol", "palmar, hand drawn"),
            ("left_counts", "17700"),
            ("left_pixels", "100"),
            ("why", "mistyped"),
        ],
        &[],
    ),
    form(
        "/diagnostics/{id}/scan/rate",
        "",
        &[("meter", "*"), ("distance", "1m"), ("spot", "elbow"), ("rate", "4"), ("why", "mistyped")],
        &["read_on"],
    ),
    form(
        "/diagnostics/{id}/scan/spill",
        "",
        &[
            ("what", "bedding"),
            ("spill_where", "box four"),
            ("spill_done", "bagged and labelled"),
            ("why", "mistyped"),
        ],
        &["spill_on"],
    ),
    form("/diagnostics/{id}/scan/entries/{id}/withdraw", "", &[("why_back", "the wrong horse")], &[]),
    form("/diagnostics/{id}/scan/release", "", &[("password", PASSWORD)], &[]),
    // Samples.
    form(
        "/diagnostics/{id}/samples",
        "sample_why",
        &[("sample_why", "the other side"), ("sample_side", "L")],
        &["taken_on", "into_on"],
    ),
    form(
        "/diagnostics/{id}/samples",
        "",
        &[
            ("item", "*"),
            ("sample_side", "L"),
            ("method", "open biopsy"),
            ("taken_at", "8:30"),
            ("taken_by", "Vala Test"),
        ],
        &["taken_on", "into_on"],
    ),
    form("/diagnostics/{id}/samples/{id}/withdraw", "", &[("back_why", "the wrong horse")], &[]),
    form(
        "/diagnostics/{id}/parcels",
        "parcel_why",
        &[("parcel_why", "another courier")],
        &["sent_on", "received_on"],
    ),
    form("/diagnostics/{id}/parcels", "", &[("sent_to", "Harbour Lab")], &["sent_on", "received_on"]),
    form("/diagnostics/{id}/parcels/{id}/received", "", &[("arrived_on", "11 Mar 2026")], &["arrived_on"]),
    form("/diagnostics/{id}/enzymes", "enzyme_why", &[("enzyme_why", "read again")], &["drawn_on"]),
    form(
        "/diagnostics/{id}/enzymes",
        "",
        &[
            ("enzyme", "*"),
            ("amount", "220"),
            ("unit", "*"),
            ("drawn_at", "8:00"),
            ("drawn_when", "*"),
            ("measured_by", "Harbour Lab"),
        ],
        &["drawn_on"],
    ),
    form("/diagnostics/{id}/plan", "", &[], &[]),
    form("/diagnostics/{id}/submission", "", &[("history", "Stiff after work since autumn.")], &[]),
    // Farriery and joint treatments.
    form(
        "/visits/{id}/procedures/farriery",
        "why",
        &[("why", "measured again"), ("site", "RF"), ("farriery_shoe", "egg bar")],
        &["farriery_next"],
    ),
    form(
        "/visits/{id}/procedures/farriery",
        "",
        &[("site", "RF"), ("farriery_shoe", "egg bar"), ("farriery_next", "20 Apr 2026")],
        &["farriery_next"],
    ),
    form(
        "/visits/{id}/procedures/joint",
        "",
        &[("site", "FETL_D.L"), ("joint_procedure", "shock-wave")],
        &[],
    ),
    // Return to work.
    form(
        "/visits/{id}/programme",
        "",
        &[("template", "sdft_moderate"), ("start", "10 Mar 2026"), ("ring", "the practice, 0555 0")],
        &["start"],
    ),
    form("/programmes/{id}/told", "", &[("done", "all"), ("told_by", "Anna Marsh")], &["told_on"]),
    form("/programmes/{id}/gate", "", &[("passed", "yes"), ("gate_why", "trots up sound")], &["gate_on"]),
    form(
        "/programmes/{id}/change",
        "",
        &[("slow_hold", "7"), ("slow_why", "warm since Monday")],
        &["slow_on"],
    ),
    form("/programmes/{id}/end", "", &[("end_why", "sold")], &["end_on"]),
    form("/programmes/{id}/entries/{id}/withdraw", "", &[("why_back", "the wrong horse")], &[]),
    form(
        "/practice/programmes",
        "",
        &[("name", "Ours"), ("source", "own cases"), ("steps", "7 | 10 | 0 | 0 | walk")],
        &[],
    ),
    form("/practice/programmes/{id}", "", &[("name", "Ours"), ("source", "own cases")], &[]),
    // Care.
    form(
        "/visits/{id}/care",
        "why",
        &[("why", "the syringe was misread"), ("reason", "needed at once")],
        &["given_on", "expires"],
    ),
    form(
        "/visits/{id}/care",
        "",
        &[("how", "administered"), ("amount", "1.1"), ("reason", "needed at once")],
        &["given_on", "expires"],
    ),
    form("/visits/{id}/care/{id}/withdraw", "", &[("why_back", "the wrong horse")], &[]),
    form(
        "/visits/{id}/euthanasia",
        "",
        &[
            ("why", "a fracture that cannot be mended"),
            ("leave_by", "Anna Marsh"),
            ("leave_how", "by phone"),
            ("method", "free_bullet"),
            ("died_at", "8:50"),
            ("sign", "heart"),
            ("sign", "cornea"),
            ("confirmed_by", "Vala Test"),
            ("remains", "taken away"),
            ("insurer", "told at half past eight"),
        ],
        &[],
    ),
    form("/horses/{id}/risks", "", &[("risk", "*")], &[]),
    form("/horses/{id}/risks/{id}/end", "", &[], &[]),
    form(
        "/horses/{id}/passport",
        "",
        &[("food_chain", "excluded"), ("seen_on", "10 Mar 2026")],
        &["seen_on", "declared_on"],
    ),
    // Assessment and plan.
    form("/visits/{id}/assessment/history", "", &[("words", "Lame since Monday.")], &[]),
    form("/visits/{id}/assessment/problem", "", &[("words", "Sore foot."), ("certainty", "*")], &[]),
    form("/visits/{id}/assessment/block", "", &[("words", "Sound after the first.")], &[]),
    form("/visits/{id}/assessment/image", "", &[("words", "Two views.")], &[]),
    form("/visits/{id}/assessment/treatment", "", &[("words", "Cold hosing.")], &[]),
    form("/visits/{id}/assessment/plan", "", &[("words", "Box rest.")], &[]),
    form(
        "/visits/{id}/assessment/follow-up",
        "",
        &[("words", "Look again."), ("due_on", "20 Mar 2026")],
        &["due_on"],
    ),
    form("/visits/{id}/assessment/entries/{id}/withdraw", "", &[("reason", "said otherwise meanwhile")], &[]),
    form("/visits/{id}/assessment/entries/{id}", "", &[("reason", "said otherwise meanwhile")], &[]),
    // What equipment sends.
    form("/diagnostics/arrivals/{id}/match", "", &[("order", "*")], &[]),
    form("/diagnostics/arrivals/{id}/back", "", &[("back_reason", "the other horse")], &[]),
    form("/diagnostics/arrivals/{id}/set-aside", "", &[("reason", "of another practice")], &[]),
    // What only a veterinarian does.
    form("/visits/{id}/sign", "", &[("password", PASSWORD)], &[]),
    form("/visits/{id}/addenda", "", &[("words", "Sound since.")], &[]),
    form("/visits/{id}/addenda/adopt/{id}", "", &[], &[]),
    // The practice.
    form("/practice", "", &[], &[]),
    form(
        "/practice/staff",
        "",
        &[
            ("name", "Wenna Dray"),
            ("role", "desk"),
            ("password", NEW_PASSWORD),
            ("password_again", NEW_PASSWORD),
        ],
        &[],
    ),
    form("/practice/staff/{id}", "", &[], &[]),
    form(
        "/practice/staff/{id}/password",
        "",
        &[("password", NEW_PASSWORD), ("password_again", NEW_PASSWORD)],
        &[],
    ),
    form("/practice/imports/{id}/columns", "", &[], &[]),
    form("/practice/imports/{id}/decide", "", &[("likely", "new")], &[]),
    form("/practice/imports/{id}/run", "", &[], &[]),
    form("/practice/imports/{id}/undo", "", &[], &[]),
    form("/practice/imports/{id}/drop", "", &[], &[]),
    form(
        "/practice/backups",
        "",
        &[("folder", "/"), ("hour", "3"), ("keep_days", "7"), ("keep_weeks", "5"), ("keep_months", "12")],
        &[],
    ),
    form("/practice/backups/passphrase", "", &[("password", PASSWORD)], &[]),
    form("/practice/export", "", &[("what", "everything"), ("password", PASSWORD)], &[]),
    form("/practice/calendars", "", &[("shows", "time")], &[]),
    form("/practice/calendars/{id}/withdraw", "", &[], &[]),
    form("/me/calendar", "", &[], &[]),
    form("/me/calendar/withdraw", "", &[], &[]),
    form("/visits/{id}/letters/owner_sheet", "", &[("addressee", "Corra"), ("danger", "it gets lamer")], &[]),
    form(
        "/visits/{id}/letters/referral",
        "",
        &[("addressee", "Dr Hollis"), ("question", "What is it?")],
        &[],
    ),
    form(
        "/visits/{id}/letters/insurer",
        "",
        &[("addressee", "The insurer"), ("policy", "P 1"), ("first_signs", "2 Mar 2026")],
        &["first_signs"],
    ),
    form(
        "/visits/{id}/letters/preauthorisation",
        "",
        &[
            ("addressee", "The insurer"),
            ("policy", "P 1"),
            ("first_signs", "2 Mar 2026"),
            ("proposed", "a scan"),
            ("estimate", "800"),
        ],
        &["first_signs", "planned_on"],
    ),
    form("/visits/{id}/letters/consent", "", &[("proposed", "a block"), ("risks", "few")], &[]),
    form(
        "/visits/{id}/letters/purchase_opinion",
        "",
        &[
            ("addressee", "Petra"),
            ("seller", "Corra"),
            ("conflict", "none"),
            ("stage_1", "9:05 to 9:20"),
            ("stage_2", "9:20 to 9:35"),
            ("blood", "not taken"),
            ("use", "hacking"),
            ("opinion", "none"),
        ],
        &["destroy_on"],
    ),
    form(
        "/visits/{id}/letters/purchase_findings",
        "",
        &[
            ("addressee", "Petra"),
            ("seller", "Corra"),
            ("conflict", "none"),
            ("stage_1", "9:05 to 9:20"),
            ("stage_2", "9:20 to 9:35"),
            ("blood", "not taken"),
            ("meaning", "little"),
        ],
        &["destroy_on"],
    ),
    form("/practice/letters/owner_sheet", "", &[], &[]),
    form("/practice/letters/referral", "", &[], &[]),
    form("/practice/letters/insurer", "", &[], &[]),
    form("/practice/letters/preauthorisation", "", &[], &[]),
    form("/practice/letters/consent", "", &[], &[]),
    form("/practice/letters/purchase_opinion", "", &[], &[]),
    form("/practice/letters/purchase_findings", "", &[], &[]),
    form("/practice/messages", "", &[("words", "We come at noon.")], &[]),
    form("/practice/words", "", &[("says", "squidge"), ("means", "effusion")], &[]),
    form("/practice/words/{id}/remove", "", &[], &[]),
    form("/practice/advice", "", &[], &[]),
    form("/practice/advice/withdraw", "", &[], &[]),
    form("/practice/formulary/confirm", "read_in", &[("read_in", "data sheet of March 2026")], &[]),
    form("/practice/formulary/confirm", "", &[], &[]),
    form("/practice/formulary/retire", "", &[("retire_reason", "not kept any more")], &[]),
    form(
        "/practice/formulary/row",
        "version",
        &[("source", "data sheet of March 2026"), ("reason", "a new data sheet")],
        &[],
    ),
    form(
        "/practice/formulary/row",
        "",
        &[
            ("medicine", "suxibuzone"),
            ("group", "nsaid"),
            ("food", "prohibited"),
            ("route", "PO"),
            ("form", "granules"),
            ("jurisdiction", "UK"),
            ("low", "6"),
            ("high", "7"),
            ("source", "data sheet of March 2026"),
            ("reason", "used here"),
        ],
        &[],
    ),
    form(
        "/practice/competition",
        "",
        &[
            ("name", "Medication"),
            ("body", "The society"),
            ("jurisdiction", "UK"),
            ("edition", "2027"),
            ("valid_from", "1 Jan 2026"),
            ("source", "its handbook"),
            ("read_on", "10 Mar 2026"),
        ],
        &["valid_from", "valid_to", "read_on"],
    ),
    form(
        "/practice/competition/{id}/restrictions",
        "",
        &[
            ("procedure", "shock-wave"),
            ("kind", "stand_down"),
            ("clear_days", "5"),
            ("rule_source", "page 5"),
        ],
        &[],
    ),
    form("/practice/competition/{id}/restrictions/{id}/strike", "", &[("strike_why", "misread")], &[]),
    form(
        "/practice/competition/{id}",
        "",
        &[("edition", "March 2026")],
        &["valid_from", "valid_to", "read_on"],
    ),
    form(
        "/horses/{id}/competition/margins",
        "",
        &[("amount", "24"), ("unit", "hours"), ("why", "a small pony")],
        &["last_on"],
    ),
    form(
        "/practice/prescribing",
        "",
        &[("jurisdiction", "UK"), ("address", "Mill Lane 1"), ("phone", "0555 1")],
        &[],
    ),
    form("/practice/prescribing/vet", "", &[("vet", "*"), ("qualification", "BVSc 1234")], &[]),
    form("/practice/stock", "", &[("name", "another truck"), ("kind", "vehicle")], &[]),
    form(
        "/practice/stock/{id}/lines",
        "",
        &[("what", "receipt"), ("medicine", "*"), ("strength", "10"), ("ml", "5")],
        &["expires"],
    ),
    form("/practice/stock/{id}/lines/{id}/reverse", "", &[("reason", "the wrong bottle")], &[]),
    form("/practice/road", "", &[("reason", "narrow lanes")], &[]),
    form("/practice/road/place", "", &[("lat", "52.5 N"), ("lon", "-0.5")], &[]),
    form("/practice/staff/{id}/round", "", &[("hours", "Mon-Fri 8-18")], &[]),
    form("/practice/laboratories", "", &[("name", "Hill Lab")], &[]),
    form("/practice/laboratories/{id}", "", &[("name", "Hill Lab")], &[]),
    form("/practice/weights", "", &[("reason", "our own cases of this year")], &[]),
    form("/practice/weights/shipped", "", &[], &[]),
    form("/practice/imaging", "", &[], &[]),
    form("/practice/imaging/callers", "", &[("title", "XRAY2"), ("note", "the room")], &[]),
    form("/practice/imaging/callers/remove", "", &[], &[]),
    form(
        "/practice/radiation",
        "",
        &[("reference", "licence 7"), ("min_hours", "24"), ("max_usv_h", "5")],
        &[],
    ),
    form("/practice/radiation/officers", "", &[("officer", "*")], &[]),
    form("/practice/radiation/officers/remove", "", &[], &[]),
    form(
        "/practice/radiation/meters",
        "version",
        &[("meter_name", "the old one")],
        &["calibrated_on", "calibration_due"],
    ),
    form(
        "/practice/radiation/meters",
        "",
        &[
            ("meter_name", "the new one"),
            ("serial", "S2"),
            ("calibrated_on", "2026-01-01"),
            ("calibration_due", "2026-12-31"),
        ],
        &["calibrated_on", "calibration_due"],
    ),
    form("/practice/radiation/meters/retire", "", &[], &[]),
    form("/practice/staff/{id}/leave", "", &[], &[]),
    form("/practice/staff/{id}/return", "", &[], &[]),
    form("/practice/staff/{id}/second-factor/remove", "", &[], &[]),
    form("/practice/staff/{id}/sessions/{id}/end", "", &[], &[]),
];

/// A form, and the page and the person that it was found with.
#[derive(Clone)]
pub struct Found {
    pub who: &'static str,
    pub page: String,
    pub form: FoundForm,
}

impl Found {
    pub fn known(&self) -> Option<&'static Known> {
        let action = pattern(&self.form.action);
        FORMS.iter().find(|k| k.action == action && (k.has.is_empty() || self.form.has(k.has)))
    }

    /// What is filled in so that the form is taken, with `over` in its place.
    pub fn with<'a>(&'a self, over: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
        let known = self.known().map_or(&[][..], |known| known.with);
        let mut with: Vec<(&str, &str)> =
            known.iter().filter(|(name, _)| !over.iter().any(|(o, _)| o == name)).copied().collect();
        for (name, _) in &mut with {
            // One of several forms that differ in a code.
            if let Some(like) =
                self.form.fields.iter().find(|f| name.ends_with("-*") && pattern(&f.name) == *name)
            {
                *name = &like.name;
            }
        }
        with.retain(|(name, _)| self.form.has(name));
        with.extend_from_slice(over);
        with
    }

    /// The page that shows what was read of a line.
    async fn read(&self, browser: &mut Browser) -> Page {
        let with = self.known().map_or(&[][..], |known| known.with);
        browser.post(&self.form.action, &self.form.filled(with)).await
    }
}

/// Follows every link of the practice as each of these, and keeps one form of each shape.
pub async fn walk(practice: &Filled, whose: &[&'static str]) -> Vec<Found> {
    let mut found: BTreeMap<_, Found> = BTreeMap::new();
    for &who in whose {
        let mut browser = practice.browser(who);
        let mut ahead = practice.beyond.clone();
        ahead.extend(["/", "/sign-in", "/locked", "/me", "/me/first-password"].map(str::to_owned));
        let mut seen: BTreeSet<String> = BTreeSet::new();
        while let Some(path) = ahead.pop() {
            let page = browser.get(&path).await;
            assert!(!page.status.is_server_error(), "{path} as {who}: {}", page.status);
            for form in page.forms() {
                let shape = form.shape();
                let one = Found { who, page: path.clone(), form };
                if !found.contains_key(&shape) && pattern(&one.form.action) == READ_LINE {
                    for form in one.read(&mut browser).await.forms() {
                        let page = one.form.action.clone();
                        found.entry(form.shape()).or_insert(Found { who, page, form });
                    }
                }
                found.entry(shape).or_insert(one);
            }
            for link in page.attrs("a[href^='/']", "href") {
                let link = link.split('#').next().unwrap_or_default().to_owned();
                if !link.starts_with("/static/") && seen.insert(kind_of(&link)) {
                    ahead.push(link);
                }
            }
        }
    }
    found.into_values().collect()
}

/// Links that only differ in a place, a finding, a study or a day lead to one page.
pub fn kind_of(link: &str) -> String {
    let Some((path, query)) = link.split_once('?') else { return link.to_owned() };
    let fold = |pair: &str| {
        let (key, value) = pair.split_once('=').unwrap_or((pair, ""));
        let one_of_many = ["study", "code"].contains(&key)
            || value.chars().any(|c| c.is_ascii_uppercase() || c.is_ascii_digit());
        format!("{key}={}", if one_of_many { "*" } else { value })
    };
    let path = if path.ends_with("/exam") { pattern(path) } else { path.to_owned() };
    format!("{path}?{}", query.split('&').map(fold).collect::<Vec<_>>().join("&"))
}

#[tokio::test(flavor = "multi_thread", worker_threads = 3)]
async fn every_form_stands_what_people_send() {
    let practice = Arc::new(Filled::new().await);
    let found = walk(&practice, &WHO).await;
    let mut wrong = uncovered(&found);
    let mut trials = tokio::task::JoinSet::new();
    for hand in 0..3 {
        let (practice, found) = (practice.clone(), found.clone());
        trials.spawn(async move {
            let mut wrong = Vec::new();
            for one in found.into_iter().skip(hand).step_by(3) {
                if let Some(known) = one.known() {
                    Trial { practice: &practice, found: &one, known, wrong: &mut wrong }.run().await;
                }
            }
            wrong
        });
    }
    while let Some(more) = trials.join_next().await {
        wrong.extend(more.unwrap());
    }
    assert!(wrong.is_empty(), "{} things are wrong:\n{}", wrong.len(), wrong.join("\n"));
}

/// Forms without a row, rows without a form, and routes that no form leads to.
fn uncovered(found: &[Found]) -> Vec<String> {
    let mut wrong = Vec::new();
    for one in found.iter().filter(|one| one.known().is_none()) {
        wrong.push(format!("{:?} on {} has no row", one.form.shape(), one.page));
    }
    for known in FORMS {
        if !found.iter().any(|one| one.known().is_some_and(|k| std::ptr::eq(k, known))) {
            wrong.push(format!("no page shows {} {}", known.action, known.has));
        }
    }
    for (route, _) in access::posts() {
        let shown = found.iter().any(|one| access::matches(&route, &pattern(&one.form.action)));
        if !shown && !NO_FORM.contains(&route.as_str()) {
            wrong.push(format!("no form leads to {route}"));
        }
    }
    wrong
}

struct Trial<'a> {
    practice: &'a Filled,
    found: &'a Found,
    known: &'static Known,
    wrong: &'a mut Vec<String>,
}

/// A copy of the practice with the page open.
struct Open {
    practice: Filled,
    browser: Browser,
    form: FoundForm,
}

impl Trial<'_> {
    async fn run(mut self) {
        let fields = self.found.form.names();
        let typed = fields.iter().filter(|(_, kind)| *kind == Kind::Typed).count();
        let among = (typed > MANY).then(|| typed.min(SHARED));
        let mut open = self.open().await;
        for (at, (field, kind)) in fields.iter().enumerate() {
            // The questions of a call are read alike, and so are the cells of a week and the lines of charges: one is bent.
            let is_alike = |start: &str, bent: &str| field.starts_with(start) && field != bent;
            if is_alike("answer-", "answer-RF1")
                || is_alike("rota-", "rota-0-day-first")
                || ["source", "recorded", "quantity", "payer", "leave"]
                    .iter()
                    .any(|part| is_alike(&format!("{part}-"), &format!("{part}-1")))
            {
                continue;
            }
            self.meets_bad_input(&mut open, field, *kind, among.map(|among| (at, among))).await;
        }
        self.with_a_field_twice(&mut open).await;
        self.sent_twice().await;
        self.after_a_change().await;
        self.after_the_signature().await;
        self.without_rights().await;
    }

    fn blame(&mut self, what: impl std::fmt::Display) {
        let Found { who, page, form } = self.found;
        self.wrong.push(format!("{} on {page} as {who}: {what}", form.action));
    }

    /// Every copy takes the form as the walk found it: its number is new to each of them.
    async fn open(&self) -> Open {
        let practice = self.practice.copy().await;
        let browser = practice.browser(self.found.who);
        Open { practice, browser, form: self.found.form.clone() }
    }

    async fn send(&self, open: &mut Open, over: &[(&str, &str)]) -> Page {
        open.browser.post(&open.form.action, &open.form.filled(&self.found.with(over))).await
    }

    /// `shared` is the field's place in a form of many, and among how many what is not sent to each of them is shared out.
    /// A copy serves until something is taken.
    async fn meets_bad_input(
        &mut self,
        open: &mut Open,
        field: &str,
        kind: Kind,
        shared: Option<(usize, usize)>,
    ) {
        let long = "Ħ".repeat(10_000);
        for (number, (name, bad)) in BAD_INPUTS.iter().chain([&(TOO_LONG, long.as_str())]).enumerate() {
            // The places of a foot's points are read alike: one is bent in every way.
            let is_alike = field.starts_with("point-") && !matches!(field, "point-G1" | "point-K1");
            let is_anothers = shared.is_some_and(|(at, among)| (at + number) % among != 0);
            if (is_anothers && !ALWAYS.contains(name))
                || ((kind != Kind::Typed || is_alike) && !ENOUGH.contains(name))
            {
                continue;
            }
            let answer = self.send(open, &[(field, bad)]).await;
            let told = format!("{field} with {name}");
            self.judge(&mut open.browser, &answer, (field, kind), (name, bad), &told).await;
            if answer.status.is_redirection() {
                *open = self.open().await;
            }
        }
    }

    async fn judge(
        &mut self,
        browser: &mut Browser,
        answer: &Page,
        (field, kind): (&str, Kind),
        (name, bad): (&str, &str),
        told: &str,
    ) {
        let status = answer.status;
        if LET_THROUGH.iter().any(|markup| answer.text.contains(markup)) {
            self.blame(format!("{told}: markup came through"));
        }
        // A withdrawal shares its form with the words that it takes back.
        let read = !(field == "words" && self.known.action.ends_with("/withdraw"));
        // A letter is as long as it is.
        let read = read && !(name == TOO_LONG && self.known.action.contains("/letters/"));
        let never = ["control characters", TOO_LONG].contains(&name)
            || (name.starts_with("an impossible") && self.known.dates.contains(&field));
        if kind == Kind::Typed && never && read && status.is_redirection() {
            self.blame(format!("{told}: it was taken"));
        }
        match status {
            StatusCode::SEE_OTHER => {
                let next = browser.get(answer.location()).await;
                if next.status.is_server_error() || LET_THROUGH.iter().any(|m| next.text.contains(m)) {
                    self.blame(format!("{told}: the next page answered {}", next.status));
                }
            }
            StatusCode::OK | StatusCode::UNPROCESSABLE_ENTITY => {
                if status != StatusCode::OK {
                    self.says_what_is_wrong(answer, kind, told);
                }
                if kind == Kind::Typed && !answer.values_of(field).iter().any(|v| kept(v) == kept(bad)) {
                    self.blame(format!("{told}: what was typed is gone"));
                }
                if kind == Kind::Secret && !bad.is_empty() && answer.text.contains(bad) {
                    self.blame(format!("{told}: a secret is shown"));
                }
            }
            _ if status.is_client_error() => self.proper(answer, told),
            _ => self.blame(format!("{told}: answered {status}")),
        }
    }

    /// Something says what is wrong; where a person can put it right, the summary leads there.
    fn says_what_is_wrong(&mut self, answer: &Page, kind: Kind, told: &str) {
        if kind != Kind::Given
            && !["class=\"errors\"", "class=\"error\"", "class=\"field-error\""]
                .iter()
                .any(|e| answer.text.contains(e))
        {
            self.blame(format!("{told}: nothing says what is wrong"));
        }
        if kind == Kind::Given {
            return;
        }
        for way in answer.attrs(".errors a", "href") {
            if !answer.has(&format!("[id='{}']", way.trim_start_matches('#'))) {
                self.blame(format!("{told}: the summary leads to {way}, which is not there"));
            }
        }
    }

    /// A page of ours that says what to do and leads on.
    fn proper(&mut self, answer: &Page, told: &str) {
        if !answer.has("h1") || !answer.has("main a[href]") {
            self.blame(format!("{told}: {} is no proper page", answer.status));
        }
    }

    /// As by a double tap, the first time with fields that it does not have. What has no number of its own may be sent as often as one likes.
    async fn sent_twice(&mut self) {
        let mut open = self.open().await;
        let first = self.with_added_fields(&mut open).await;
        let taken = if self.known.action == READ_LINE { StatusCode::OK } else { StatusCode::SEE_OTHER };
        if first.status != taken {
            return self.blame(format!("good: {} {:?}", first.status, first.texts(".errors li, .error, h1")));
        }
        if !open.form.has("submission") {
            return;
        }
        let before = open.practice.rows().await;
        let second = self.send(&mut open, &[]).await;
        // Who was signed out by the first has no second.
        let out = second.location() == "/sign-in";
        if !out && (second.status, second.location()) != (first.status, first.location()) {
            self.blame(format!("twice: {} {}", second.status, second.location()));
        }
        if open.practice.rows().await != before {
            self.blame("twice: it was done twice");
        }
    }

    /// Two have the page open; the second to send is told what the first one did.
    async fn after_a_change(&mut self) {
        let mut open = self.open().await;
        if !open.form.has("version") {
            return;
        }
        self.send(&mut open, &[]).await;
        let before = open.practice.rows().await;
        let number = limbledger::ids::SubmissionId::new().to_string();
        let late = self.send(&mut open, &[("submission", &number)]).await;
        if late.status != StatusCode::CONFLICT {
            self.blame(format!("stale: {}", late.status));
        }
        self.proper(&late, "stale");
        self.keeps_words(&late, "stale");
        if open.practice.rows().await != before {
            self.blame("stale: it was done all the same");
        }
    }

    /// A visit that was signed meanwhile takes nothing any more, but what is made for signed visits, and orders,
    /// programmes, charges and letters, which no signature closes; what was seen in the exam is kept as a late entry.
    async fn after_the_signature(&mut self) {
        let about_visit = self.known.action.starts_with("/visits/{id}/");
        let still_taken = [
            "/addenda",
            "/horse",
            "/exam/",
            "/work-up/",
            "/diagnostics",
            "/message",
            "/programme",
            "/charges",
            "/letters/",
        ]
        .iter()
        .any(|part| self.known.action.contains(part));
        if !about_visit || still_taken {
            return;
        }
        let mut open = self.open().await;
        open.practice.sign_everything().await;
        let before = open.practice.rows().await;
        let late = self.send(&mut open, &[]).await;
        if !late.status.is_client_error() {
            self.blame(format!("signed meanwhile: {}", late.status));
        }
        self.proper(&late, "signed meanwhile");
        self.keeps_words(&late, "signed meanwhile");
        if open.practice.rows().await != before {
            self.blame("signed meanwhile: it was done all the same");
        }
    }

    async fn without_rights(&mut self) {
        let Some((_, may)) = access::posts()
            .into_iter()
            .find(|(route, _)| access::matches(route, &pattern(&self.found.form.action)))
        else {
            return;
        };
        if may.iter().any(|role| role == "public") || ["locked", "half"].contains(&self.found.who) {
            return;
        }
        let ends = ["/lock", "/sign-out"].contains(&self.known.action);
        let barred = |who: &&str| *who != self.found.who && !may.iter().any(|role| role == who);
        let mut open = self.open().await;
        let before = open.practice.rows().await;
        for who in WHO.into_iter().filter(barred).filter(|who| !(ends && *who == "new")) {
            open.browser = open.practice.browser(who);
            let answer = self.send(&mut open, &[]).await;
            match (who, answer.location()) {
                ("stranger" | "half", "/sign-in") | ("locked", "/locked") | ("new", "/me/first-password") => {
                }
                _ if [StatusCode::FORBIDDEN, StatusCode::UNAUTHORIZED, StatusCode::LOCKED]
                    .contains(&answer.status) =>
                {
                    self.proper(&answer, who);
                    self.keeps_words(&answer, who);
                }
                _ => self.blame(format!("{who} got {} {}", answer.status, answer.location())),
            }
            if open.practice.rows().await != before {
                return self.blame(format!("{who} may not, and it was done"));
            }
        }
    }

    /// What was filled in and is longer than a word stands on the page.
    fn keeps_words(&mut self, answer: &Page, told: &str) {
        let typed: Vec<&str> = self
            .found
            .form
            .names()
            .iter()
            .filter(|(_, kind)| *kind == Kind::Typed)
            .filter_map(|(name, _)| self.known.with.iter().find(|(n, _)| n == name).map(|(_, words)| *words))
            .collect();
        for words in typed {
            if !answer.text.contains(words) {
                self.blame(format!("{told}: “{words}” is gone"));
            }
        }
    }
}

fn kept(text: &str) -> String {
    as_a_page_keeps_it(text)
}
