use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_embed::RustEmbed;

/// The screens, as `npm run build` makes them.
#[derive(RustEmbed)]
#[folder = "../../../ui/dist"]
#[allow_missing = true]
struct Screens;

/// What a page may load and do: only what comes from here.
const POLICY: &str = "default-src 'self'; img-src 'self' blob: data:; media-src 'self' blob:; \
     style-src 'self' 'unsafe-inline'; object-src 'none'; base-uri 'none'; form-action 'self'; \
     frame-ancestors 'none'";

/// A file of the screens, or the first page for a path that names none.
pub(crate) fn file(path: &str) -> Response {
    let path = path.trim_start_matches('/');
    match Screens::get(path) {
        Some(file) if path != "index.html" => {
            let kept = if path.starts_with("assets/") {
                "public, max-age=31536000, immutable"
            } else {
                "no-cache"
            };
            let kind = file.metadata.mimetype().to_owned();
            let headers = [
                (header::CONTENT_TYPE, kind),
                (header::CACHE_CONTROL, kept.to_owned()),
                (header::X_CONTENT_TYPE_OPTIONS, "nosniff".to_owned()),
            ];
            (headers, file.data.into_owned()).into_response()
        }
        _ => first_page(),
    }
}

pub(crate) fn first_page() -> Response {
    let Some(page) = Screens::get("index.html") else {
        let said = "The screens are not built: run `npm ci` and `npm run build` in the folder ui.";
        return (StatusCode::SERVICE_UNAVAILABLE, said).into_response();
    };
    let headers = [
        (header::CONTENT_TYPE, "text/html; charset=utf-8"),
        (header::CACHE_CONTROL, "no-store"),
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    ];
    (headers, page.data.into_owned()).into_response()
}
