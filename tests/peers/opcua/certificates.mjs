// Application and user certificates of every kind, in the library's PKI folders below a temporary folder.
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import { OPCUACertificateManager } from "node-opcua";

const DAY = 86_400_000;
const START = { expired: -60, notyet: 30 };

/** A store below root. Unknown certificates are accepted, or put into rejected/ and refused. */
export async function store(root, acceptUnknown) {
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
