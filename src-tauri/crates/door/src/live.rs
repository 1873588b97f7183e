use axum::response::sse::Event;
use serde_json::json;
use slotkeep_api::{Api, Notice};
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::sync::broadcast;

/// How often the journal is asked for entries that another program wrote.
const LOOK_EVERY: Duration = Duration::from_secs(1);

/// Something that screens hear of at once.
#[derive(Debug, Clone)]
pub(crate) enum News {
    Changed(Notice),
    Progress { task: String, done: u64, total: u64 },
}

impl News {
    pub(crate) fn event(&self) -> Event {
        match self {
            Self::Changed(notice) => Event::default().event("change").data(
                json!({ "command": notice.command, "subjects": notice.subjects }).to_string(),
            ),
            Self::Progress { task, done, total } => Event::default()
                .event("progress")
                .data(json!({ "task": task, "done": done, "total": total }).to_string()),
        }
    }
}

/// Passes on what this program records and what others (the terminal) record beside it.
pub(crate) fn watch(api: &Arc<Api>) -> broadcast::Sender<News> {
    let (sender, _) = broadcast::channel(256);
    let tell = sender.clone();
    api.listen(move |notice| {
        // Nobody listening is no fault.
        let _ = tell.send(News::Changed(notice.clone()));
        true
    });
    let (api, tell) = (Arc::downgrade(api), sender.clone());
    tokio::spawn(async move {
        let mut known = None;
        let mut ticks = tokio::time::interval(LOOK_EVERY);
        loop {
            ticks.tick().await;
            let Some(api) = api.upgrade() else { return };
            let head = tokio::task::spawn_blocking(move || api.head()).await;
            let Ok(Ok(head)) = head else { continue };
            if known.replace(head).is_some_and(|before| before != head) {
                let notice = Notice { command: String::new(), subjects: Vec::new() };
                let _ = tell.send(News::Changed(notice));
            }
        }
    });
    sender
}

/// Passes progress on, at most ten times a second.
pub(crate) fn progress(sender: &broadcast::Sender<News>) -> impl FnMut(&str, u64, u64) + use<> {
    let sender = sender.clone();
    let mut last: Option<Instant> = None;
    move |task, done, total| {
        let due = last.is_none_or(|last| last.elapsed() > Duration::from_millis(100));
        if due || done == total {
            last = Some(Instant::now());
            let _ = sender.send(News::Progress { task: task.to_owned(), done, total });
        }
    }
}
