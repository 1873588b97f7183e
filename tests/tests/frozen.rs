//! Stores of every version that was ever written still open, and say what they said.

use serde_json::{Value, json};
use slotkeep_api::Api;
use slotkeep_domain::photo::PhotoHash;
use slotkeep_store::Store;
use slotkeep_tests::{Plant, root};

#[test]
fn every_frozen_store_opens_and_verifies_clean() {
    let folder = root().join("tests/fixtures/store");
    let list = std::fs::read_to_string(folder.join("frozen.json")).unwrap();
    let list: Vec<Value> = serde_json::from_str(&list).unwrap();
    assert!(!list.is_empty());
    for frozen in &list {
        let name = frozen["file"].as_str().unwrap();
        let mut plant = Plant::empty();
        let path = plant.folder.path().join(name);
        std::fs::copy(folder.join(name), &path).unwrap();
        plant.api = Api::new(Store::open(&path).unwrap());
        let report = plant.call("journal.verify", json!({}));
        assert_eq!(
            (&report["clean"], &report["entries"], &report["head"]),
            (&json!(true), &frozen["entries"], &frozen["head"]),
            "{name}: {report:#}"
        );
        let summary = plant.call("site.summary", json!({}));
        assert_eq!(summary["counts"], frozen["counts"], "{name}");
        // Of the photos that were kept without an entry that names them none is taken for named.
        let kept: Vec<PhotoHash> = frozen["photos"]
            .as_array()
            .into_iter()
            .flatten()
            .map(|photo| PhotoHash::parse(photo.as_str().unwrap()).unwrap())
            .collect();
        let waits = |photo: &PhotoHash| plant.api.store().read(|r| r.photo_waits(photo)).unwrap();
        assert_eq!(
            kept.iter().map(waits).collect::<Vec<_>>(),
            if kept.is_empty() { vec![] } else { vec![false, true] },
            "{name}: the first is named, the second is not"
        );
        plant.call("journal.note", json!({ "subject": "site", "text": "opened again" }));
        plant.verify_clean();
    }
}
