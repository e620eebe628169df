//! The program's pages on a free port, and clients that keep their cookies.
use std::net::{IpAddr, Ipv4Addr};
use std::sync::Arc;

use reqwest::blocking::{Response, multipart};
use reqwest::redirect::Policy;

use super::TestDatabase;

/// What reqwest needs before a client is made: it is built without a provider of cryptography.
pub fn choose_cryptography() {
    let _chosen_before = rustls::crypto::ring::default_provider().install_default();
}

/// A running server over its own database.
pub struct TestApp {
    pub database: TestDatabase,
    pub address: String,
    handle: actix_web::dev::ServerHandle,
}

impl TestApp {
    /// Over an empty database.
    pub fn start() -> Self {
        Self::over(TestDatabase::new())
    }

    /// Over the demo estate.
    pub fn demo() -> Self {
        Self::over(TestDatabase::demo())
    }

    /// Over the demo estate, with what sets papers.
    pub fn demo_with(typesetter: Arc<dyn web::Typesetter>) -> Self {
        Self::serving(TestDatabase::demo(), Some(typesetter))
    }

    fn over(database: TestDatabase) -> Self {
        Self::serving(database, None)
    }

    fn serving(database: TestDatabase, typesetter: Option<Arc<dyn web::Typesetter>>) -> Self {
        let world = database.world.clone();
        let (tell, told) = std::sync::mpsc::channel();
        std::thread::spawn(move || {
            actix_web::rt::System::new().block_on(async move {
                let options = web::Options {
                    address: IpAddr::V4(Ipv4Addr::LOCALHOST),
                    port: 0,
                    certificate: None,
                    trusted_proxy: None,
                    workers: 2,
                    typesetter,
                };
                let (server, port) = web::server(world, options).expect("a free port");
                tell.send((server.handle(), port)).expect("the test waits");
                server.await.expect("the server runs");
            });
        });
        let (handle, port) = told.recv().expect("the server starts");
        Self {
            database,
            address: format!("http://127.0.0.1:{port}"),
            handle,
        }
    }

    /// Somebody who is not signed in.
    pub fn visitor(&self) -> Client {
        choose_cryptography();
        let http = reqwest::blocking::Client::builder()
            .cookie_store(true)
            .redirect(Policy::none())
            .build()
            .unwrap();
        Client {
            http,
            address: self.address.clone(),
        }
    }

    /// Somebody signed in with the demo password.
    pub fn signed_in(&self, email: &str) -> Client {
        let client = self.visitor();
        let answer = client.post(
            "/sign-in",
            &[
                ("email", email),
                ("password", usecases::door::DEMO_PASSWORD),
            ],
        );
        assert_eq!(answer.status(), 303, "{email} can sign in");
        client
    }
}

impl Drop for TestApp {
    fn drop(&mut self) {
        let _stopping = self.handle.stop(false);
    }
}

/// A browser without a window: keeps cookies, follows nothing by itself.
pub struct Client {
    pub http: reqwest::blocking::Client,
    pub address: String,
}

impl Client {
    pub fn get(&self, path: &str) -> Response {
        self.http
            .get(format!("{}{path}", self.address))
            .send()
            .unwrap()
    }

    /// The page at `path`, which must answer 200.
    pub fn page(&self, path: &str) -> String {
        let answer = self.get(path);
        assert_eq!(answer.status(), 200, "{path}");
        answer.text().unwrap()
    }

    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Response {
        self.http
            .post(format!("{}{path}", self.address))
            .header("sec-fetch-site", "same-origin")
            .form(fields)
            .send()
            .unwrap()
    }

    pub fn upload(&self, path: &str, form: multipart::Form) -> Response {
        self.http
            .post(format!("{}{path}", self.address))
            .header("sec-fetch-site", "same-origin")
            .multipart(form)
            .send()
            .unwrap()
    }
}

/// Where a 303 leads.
pub fn location(answer: &Response) -> String {
    answer
        .headers()
        .get("location")
        .expect("a redirect")
        .to_str()
        .unwrap()
        .to_owned()
}
