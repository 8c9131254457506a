//! Paired phones. Of a phone's token only a digest is kept, which the caller makes.

use jiff::Timestamp;
use serde::Serialize;

use crate::error::StoreError;
use crate::ids::DeviceId;
use crate::lite::{At, DeviceRow};
use crate::store::Store;

/// A paired phone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Device {
    /// The phone.
    pub id: DeviceId,
    /// As its owner calls it.
    pub name: String,
    /// When it was paired.
    pub created: Timestamp,
    /// When it was last heard of.
    pub last_seen: Option<Timestamp>,
    /// When it was shut out; none while it may come in.
    pub revoked: Option<Timestamp>,
}

impl Store {
    /// Pairs a phone.
    pub async fn add_device(
        &self,
        id: DeviceId,
        name: &str,
        token_digest: &[u8],
        now: Timestamp,
    ) -> Result<Device, StoreError> {
        let row = DeviceRow {
            id,
            name: name.to_owned(),
            created: At(now),
            last_seen: None,
            revoked: None,
        };
        let mut tx = self.lite.writing().await?;
        let known = tx.devices().await?.iter().any(|it| it.id == id);
        if known || tx.device_of_token(token_digest).await?.is_some() {
            return Err(StoreError::exists("device", id));
        }
        tx.add_device(&row, token_digest).await?;
        tx.commit().await?;
        Ok(Device::of(row))
    }

    /// All phones that were ever paired, revoked ones too.
    pub async fn devices(&self) -> Result<Vec<Device>, StoreError> {
        let rows = self.lite.reading().await?.devices().await?;
        Ok(rows.into_iter().map(Device::of).collect())
    }

    /// The phone with this token, if there is one and it was not revoked.
    pub async fn device_of_token(&self, token_digest: &[u8]) -> Result<Option<Device>, StoreError> {
        let row = self
            .lite
            .reading()
            .await?
            .device_of_token(token_digest)
            .await?;
        Ok(row.map(Device::of).filter(|it| it.revoked.is_none()))
    }

    /// Notes that a phone was heard of.
    pub async fn device_seen(&self, id: DeviceId, now: Timestamp) -> Result<(), StoreError> {
        let mut tx = self.lite.writing().await?;
        match tx.seen(id, now).await? {
            0 => Err(StoreError::unknown("device", id)),
            _ => tx.commit().await,
        }
    }

    /// Shuts a phone out from now on.
    pub async fn revoke_device(&self, id: DeviceId, now: Timestamp) -> Result<(), StoreError> {
        let mut tx = self.lite.writing().await?;
        match tx.revoke(id, now).await? {
            0 => Err(StoreError::unknown("device", id)),
            _ => tx.commit().await,
        }
    }
}

impl Device {
    fn of(row: DeviceRow) -> Device {
        Device {
            id: row.id,
            name: row.name,
            created: row.created.0,
            last_seen: row.last_seen.map(|it| it.0),
            revoked: row.revoked.map(|it| it.0),
        }
    }
}
