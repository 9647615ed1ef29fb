//! A practice of its own behind the real listener, with a veterinarian who is signed in.

use std::net::{IpAddr, SocketAddr};

use limbledger::{
    App,
    accounts::{Hasher, Role, store::NewStaff},
    clock::{At, Clock},
    db::Db,
    ids::StaffId,
    practice::Practice as Kept,
    serve::ServeOptions,
};
use tempfile::TempDir;
use tokio::{
    io::AsyncWriteExt,
    net::{TcpSocket, TcpStream},
};

use crate::support::{self, Server, clock, read_to_end};

const PASSWORD: &str = "seven quiet barns at dawn";

pub(crate) struct Practice {
    pub(crate) server: Server,
    /// As the browser sends it.
    pub(crate) cookie: String,
    _data: TempDir,
}

impl Practice {
    pub(crate) async fn open(change: impl FnOnce(&mut ServeOptions)) -> Self {
        let data = TempDir::new().unwrap();
        let now = At(clock().as_millisecond());
        let db = Db::open(data.path(), now).await.unwrap();
        let hasher = Hasher::with_cost(8, 1).unwrap();
        let vet = NewStaff {
            id: StaffId::new(),
            name: "Vala Test".into(),
            role: Role::Vet,
            licensed: true,
            password_hash: hasher.hash(PASSWORD).await.unwrap(),
        };
        let mut tx = db.write().await.unwrap();
        limbledger::practice::store::insert(&mut tx, &kept(), now).await.unwrap();
        limbledger::accounts::store::insert(&mut tx, &vet, now).await.unwrap();
        tx.commit().await.unwrap();
        let mut options = support::loopback(&data);
        change(&mut options);
        let router = limbledger::router(App::new(db, Clock::held(now), hasher, None));
        let server = Server::start_with(options, router).await;
        let form = format!("name=Vala+Test&password={}", PASSWORD.replace(' ', "+"));
        let said = support::raw(server.address, &post(server.address, "/sign-in", "", &form)).await;
        let cookie = said.split("set-cookie: ").nth(1).unwrap_or_else(|| panic!("{said}"));
        let cookie = cookie.split(';').next().unwrap().to_owned();
        Practice { server, cookie, _data: data }
    }

    /// A page as the veterinarian sees it, from another address of this machine.
    pub(crate) async fn get_from(&self, ip: [u8; 4], path: &str) -> String {
        let mut stream = connect_from(ip, self.server.address).await;
        let head = format!(
            "GET {path} HTTP/1.1\r\nHost: {}\r\nCookie: {}\r\nConnection: close\r\n\r\n",
            self.server.address, self.cookie
        );
        stream.write_all(head.as_bytes()).await.unwrap();
        read_to_end(&mut stream).await
    }
}

/// Of the loopback range all addresses are this machine's; each counts by itself.
pub(crate) async fn connect_from(ip: [u8; 4], to: SocketAddr) -> TcpStream {
    let socket = TcpSocket::new_v4().unwrap();
    socket.bind(SocketAddr::new(IpAddr::from(ip), 0)).unwrap();
    socket.connect(to).await.unwrap()
}

/// A form on a connection of its own.
pub(crate) fn post(to: SocketAddr, path: &str, cookie: &str, form: &str) -> String {
    format!(
        "POST {path} HTTP/1.1\r\nHost: {to}\r\nOrigin: http://{to}\r\nCookie: {cookie}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{form}",
        form.len()
    )
}

fn kept() -> Kept {
    Kept {
        name: "Test Practice".into(),
        zone: jiff::tz::TimeZone::get("Europe/Berlin").unwrap(),
        zone_name: "Europe/Berlin".into(),
        weight_unit: "kg".into(),
        height_unit: "cm".into(),
        temperature_unit: "c".into(),
        lameness_scale: "aaep_0_5".into(),
        exam_order: "top_down_then_up".into(),
        invented: false,
        version: 1,
    }
}
