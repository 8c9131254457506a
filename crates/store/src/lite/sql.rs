//! Every query, in one place.

pub const CHECK: &str = "PRAGMA integrity_check(1)";

pub const SITES: &str = "
    SELECT site.id, name, region, n_outlets, revision, updated, seal,
        (SELECT count(*) FROM visit WHERE visit.site = site.id) AS n_visits,
        (SELECT count(*) FROM visit JOIN entry ON entry.visit = visit.id
            WHERE visit.site = site.id AND entry.kind = 'reading') AS n_readings
    FROM site ORDER BY name, site.id";
pub const SITE: &str =
    "SELECT id, name, region, n_outlets, revision, updated, seal FROM site WHERE id = $1";
pub const PUT_SITE: &str = "
    INSERT INTO site (id, name, region, n_outlets, revision, updated, seal)
    VALUES ($1, $2, $3, $4, $5, $6, $7)
    ON CONFLICT (id) DO UPDATE SET name = excluded.name, region = excluded.region,
        n_outlets = excluded.n_outlets, revision = excluded.revision, updated = excluded.updated,
        seal = excluded.seal";
pub const REVISIONS: &str = "SELECT revision, at FROM site_text WHERE site = $1 ORDER BY revision";
pub const TEXT: &str =
    "SELECT site, revision, at, text, seal FROM site_text WHERE site = $1 AND revision = $2";
pub const ADD_TEXT: &str =
    "INSERT INTO site_text (site, revision, at, text, seal) VALUES ($1, $2, $3, $4, $5)";

pub const VISITS: &str = "
    SELECT id, site, number, revision, head, opened, closed, site_revision, seal
    FROM visit WHERE site = $1 ORDER BY number";
pub const VISIT: &str = "
    SELECT id, site, number, revision, head, opened, closed, site_revision, seal
    FROM visit WHERE id = $1";
pub const COUNT_BEHIND: &str = "
    SELECT count(*) FILTER (WHERE kind = 'reading'), count(*) FILTER (WHERE kind = 'observation')
    FROM entry WHERE visit = $1 AND seq > $2";
pub const N_ATTACHMENTS: &str = "SELECT count(*) FROM attachment WHERE visit = $1";
pub const LATEST_VISIT: &str = "
    SELECT id, site, number, revision, head, opened, closed, site_revision, seal
    FROM visit WHERE site = $1 ORDER BY number DESC LIMIT 1";
pub const PUT_VISIT: &str = "
    INSERT INTO visit (id, site, number, revision, head, opened, closed, site_revision, seal)
    VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
    ON CONFLICT (id) DO UPDATE SET revision = excluded.revision, head = excluded.head,
        closed = excluded.closed, site_revision = excluded.site_revision, seal = excluded.seal";
pub const LAST_NUMBER: &str = "SELECT coalesce(max(number), 0) FROM visit WHERE site = $1";

pub const ENTRIES: &str = "
    SELECT visit, seq, key, kind, id, place, corrects, at, body, text, seal
    FROM entry WHERE visit = $1 AND seq > $2 ORDER BY seq";
pub const ENTRY_OF_KEY: &str = "
    SELECT visit, seq, key, kind, id, place, corrects, at, body, text, seal
    FROM entry WHERE key = $1";
pub const LAST: &str = "SELECT coalesce(max(seq), 0) FROM entry WHERE visit = $1";
pub const HAS_ID: &str = "SELECT count(*) FROM entry WHERE visit = $1 AND kind = $2 AND id = $3";
pub const CORRECTED_BY: &str =
    "SELECT id FROM entry WHERE visit = $1 AND corrects = $2 ORDER BY seq LIMIT 1";
pub const ADD_ENTRY: &str = "
    INSERT INTO entry (visit, seq, key, kind, id, place, corrects, at, body, text, seal)
    VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";

pub const CONTENT: &str = "SELECT bytes FROM content WHERE hash = $1";
pub const PUT_CONTENT: &str =
    "INSERT INTO content (hash, kind, bytes) VALUES ($1, $2, $3) ON CONFLICT (hash) DO NOTHING";
pub const ATTACHMENTS: &str = "
    SELECT key, visit, seq, place, note, at, attachment.hash, kind, length(bytes) AS size, seal
    FROM attachment JOIN content ON content.hash = attachment.hash
    WHERE visit = $1 ORDER BY seq";
pub const ATTACHMENT_OF_KEY: &str = "
    SELECT key, visit, seq, place, note, at, attachment.hash, kind, length(bytes) AS size, seal
    FROM attachment JOIN content ON content.hash = attachment.hash
    WHERE key = $1";
pub const ADD_ATTACHMENT: &str = "
    INSERT INTO attachment (key, visit, seq, place, note, at, hash, seal)
    VALUES ($1, $2, $3, $4, $5, $6, $7, $8)";

pub const DEVICES: &str =
    "SELECT id, name, created, last_seen, revoked FROM device ORDER BY created, id";
pub const DEVICE_OF_TOKEN: &str =
    "SELECT id, name, created, last_seen, revoked FROM device WHERE token = $1";
pub const ADD_DEVICE: &str =
    "INSERT INTO device (id, name, token, created) VALUES ($1, $2, $3, $4)";
pub const SEEN: &str = "UPDATE device SET last_seen = $2 WHERE id = $1";
pub const REVOKE: &str = "UPDATE device SET revoked = coalesce(revoked, $2) WHERE id = $1";
