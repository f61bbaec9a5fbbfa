//! axe-core (Deque Systems, MPL-2.0), whose rules follow WCAG 2.2, in the open page.

use crate::browser::Page;
use serde_json::json;

/// Fails with everything that axe-core finds, whatever impact it says it has; `place` says where.
pub async fn check_accessibility(page: &Page, place: &str) {
    let script = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/target/axe/node_modules/axe-core/axe.min.js"
    );
    let axe = std::fs::read_to_string(script)
        .expect("npm install --prefix target/axe axe-core@4.14.1 comes first");
    page.client.execute(&axe, Vec::new()).await.unwrap();
    let found = page.client.execute_async(RUN_AXE, Vec::new()).await;
    let found = found.unwrap();
    assert!(found["passed"].as_u64().unwrap() > 20, "{place}: {found}");
    assert_eq!(found["violations"], json!([]), "{place}");
}

const RUN_AXE: &str = "const done = arguments[0];
    document.getAnimations().forEach((animation) => animation.finish());
    axe.run().then(({passes, violations}) => done({
        passed: passes.length,
        violations: violations.flatMap(({id, impact, nodes}) => nodes.map((node) => `${id} (${impact}): ${node.html} ${node.failureSummary}`)),
    }));";
