//! What blocks numb, whatever came of them.

use limbledger::reasoning::localise::{Level, numb};
use serde_json::{Value, json};

use super::{shipped, work_up};

fn level(blocks: &Value, structure: &str) -> Option<Level> {
    let work = work_up(json!({"limb": "LF", "blocks": blocks}));
    let field = numb(&work, shipped()).expect("a field");
    field.iter().find(|one| one.structure.code == structure).map(|one| one.level)
}

#[test]
fn a_palmar_digital_block_numbs_the_foot_and_no_fetlock() {
    let pdn = json!([{"block": "PDN", "volume_ml": 1.5}]);
    assert_eq!(level(&pdn, "NAV"), Some(Level::Full));
    assert_eq!(level(&pdn, "LAM"), Some(Level::Partial));
    assert_eq!(level(&pdn, "PIP"), Some(Level::Possible));
    assert_eq!(level(&pdn, "FET"), None);
}

#[test]
fn blocks_add_up_and_one_whose_skin_test_failed_adds_nothing() {
    let both = |numb: Value| json!([{"block": "PDN"}, {"block": "L4P", "skin_numb": numb}]);
    assert_eq!(level(&both(Value::Null), "FET"), Some(Level::Full));
    assert_eq!(level(&both(json!(false)), "FET"), None);
    assert_eq!(level(&both(json!(false)), "NAV"), Some(Level::Full));
}

#[test]
fn a_late_reading_or_a_large_volume_widens_what_is_seldom_reached() {
    let late = json!([{"block": "PDN", "read": [{"minutes": 25, "improvement_pct": 0}]}]);
    assert_eq!(level(&late, "PIP"), Some(Level::Partial));
    let large = json!([{"block": "PDN", "volume_ml": 4}]);
    assert_eq!(level(&large, "PIP"), Some(Level::Partial));
    assert!(numb(&work_up(json!({"limb": "LF", "blocks": []})), shipped()).expect("a field").is_empty());
}
