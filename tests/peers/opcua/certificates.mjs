// Application and user certificates of every kind, in the library's PKI folders below a temporary folder.
import crypto from "node:crypto";
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import { OPCUACertificateManager } from "node-opcua";

const DAY = 86_400_000;
const START = { expired: -60, notyet: 30 };

let key;

/** A store below root. Unknown certificates are accepted, or put into rejected/ and refused. All stores of a process share a key. */
export async function store(root, acceptUnknown) {
    giveKey(path.join(root, "own", "private", "private_key.pem"));
    const manager = new OPCUACertificateManager({
        rootFolder: root, automaticallyAcceptUnknownCertificate: acceptUnknown, keySize: 2048, disableFileWatchers: true,
    });
    await manager.initialize();
    return manager;
}

/** The file of a self-signed certificate; kind: valid, expired, notyet, wronguri or wronghost. */
export async function certificate(manager, kind, applicationUri, commonName) {
    const file = path.join(manager.rootDir, "own", "certs", `${commonName}-${kind}.pem`);
    if (fs.existsSync(file)) return file;
    await manager.createSelfSignedCertificate({
        applicationUri: kind === "wronguri" ? "urn:example:some-other-application" : applicationUri,
        dns: kind === "wronghost" ? ["elsewhere.example"] : ["localhost", os.hostname()],
        ip: kind === "wronghost" ? [] : ["127.0.0.1"],
        subject: `/CN=${commonName}/O=WashBridge tests`,
        startDate: new Date(Date.now() + (START[kind] ?? -1) * DAY),
        validity: kind === "expired" ? 30 : 365,
        outputFile: file,
    });
    return file;
}

/** The library makes one where there is none, in seconds. */
function giveKey(file) {
    if (fs.existsSync(file)) return;
    key ??= crypto.generateKeyPairSync("rsa", { modulusLength: 2048 }).privateKey.export({ type: "pkcs8", format: "pem" });
    fs.mkdirSync(path.dirname(file), { recursive: true });
    fs.writeFileSync(file, key, { mode: 0o600 });
}
