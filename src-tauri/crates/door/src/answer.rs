use axum::Json;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use slotkeep_api::{Failure, FailureKind, Reply};

/// A failure as HTTP.
pub(crate) struct Refused(pub Failure);

impl From<Failure> for Refused {
    fn from(failure: Failure) -> Self {
        Self(failure)
    }
}

impl IntoResponse for Refused {
    fn into_response(self) -> Response {
        let status = match self.0.kind {
            FailureKind::BadInput => StatusCode::BAD_REQUEST,
            FailureKind::NotIdentified => StatusCode::UNAUTHORIZED,
            FailureKind::NotAllowed => StatusCode::FORBIDDEN,
            FailureKind::NotFound => StatusCode::NOT_FOUND,
            FailureKind::Refused | FailureKind::SetAside => StatusCode::CONFLICT,
            FailureKind::Broken => StatusCode::INTERNAL_SERVER_ERROR,
        };
        (status, Json(self.0)).into_response()
    }
}

/// A reply as HTTP: JSON, or a file to download.
pub(crate) fn reply(reply: Reply) -> Response {
    match reply {
        Reply::Json(value) => Json(value).into_response(),
        Reply::File(file) => {
            let name: String = file
                .name
                .chars()
                .filter(|c| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_'))
                .collect();
            let headers = [
                (header::CONTENT_TYPE, file.content_type.to_owned()),
                (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
            ];
            (headers, file.bytes).into_response()
        }
    }
}
