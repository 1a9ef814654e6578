// An OPC UA server of the library node-opcua on 127.0.0.1. Options come as one JSON argument (see DEFAULTS); a port of 0 takes a free one.
// Prints "READY <port>", then one JSON line that describes the server. Each command on standard input (see COMMANDS) is answered by
// one JSON line; events go to standard error. Ends when its standard input does.
import fs from "node:fs";
import net from "node:net";
import os from "node:os";
import path from "node:path";
import { answer, event, optionsFrom, print, serveLines } from "./opcua/lines.mjs";
import { certificate, store } from "./opcua/certificates.mjs";
import { Sockets } from "./opcua/sockets.mjs";
import { AddressSpace, NAMESPACE } from "./opcua/address_space.mjs";
import { readCertificate } from "node-opcua-crypto";
import { MessageSecurityMode, OPCUAServer, SecurityPolicy } from "node-opcua";

const DEFAULTS = {
    port: 0,
    pki: null,                          // folder for keys and certificates; a temporary one that is removed at the end where not given
    policies: ["None", "Basic256Sha256", "Aes128_Sha256_RsaOaep", "Aes256_Sha256_RsaPss"],
    modes: ["Sign", "SignAndEncrypt"],  // for all policies but None
    users: { keg: "washer" },
    anonymous: true,
    certificate: "valid",               // valid, expired, notyet, wronguri, wronghost
    acceptClients: true,                // whether unknown application certificates are accepted
    acceptUsers: true,                  // whether unknown user certificates are accepted
    variables: 60,
    bigFolder: 3000,
    rateHz: 10,                         // changes a second of every counting variable; 0 keeps them still
    chunk: 0,                           // largest chunk both ways in bytes, from 8192; 0 keeps the library's
    tokenLifetime: 600_000,             // longest life of a security token, ms
    limits: {},                         // OperationLimits, such as {"maxNodesPerRead": 100}
    maxSessions: 100,
    maxBrowseContinuationPoints: 10,
    minSampling: 20,                    // ms
    maxQueue: 60_000,
};

const COMMANDS = {
    drop: (kind) => ({ dropped: sockets.drop(kind) }),
    suspend: (seconds) => suspend(Number(seconds)),
    restart: (seconds) => restart(Number(seconds)),
    "stop-changes": () => (space.stopChanges(), { tick: space.tick }),
    set: (name, value) => space.set(name, JSON.parse(value)),
    status: (name, code) => space.status(name, code),
    remove: (name) => space.remove(name),
    trust: (whom, file) => trust(whom, file),
    state: () => state(),
    stop: () => stop(),
};

const options = optionsFrom(DEFAULTS);
const pki = options.pki ?? fs.mkdtempSync(path.join(os.tmpdir(), "washbridge-opcua-peer-"));
const applicationUri = "urn:washbridge:tests:peer-server";
const port = options.port || await freePort();
const clientStore = await store(path.join(pki, "server"), options.acceptClients);
const userStore = await store(path.join(pki, "server-users"), options.acceptUsers);
const certificateFile = await certificate(clientStore, options.certificate, applicationUri, "peer-server");
const sockets = new Sockets();
let { server, space } = await create();
await open();
print(`READY ${port}`);
answer({
    endpointUrl: server.getEndpointUrl(), applicationUri, namespace: NAMESPACE, namespaceIndex: space.namespaceIndex, pki, certificateFile,
});
await serveLines((line) => {
    const [name, ...rest] = line.split(" ");
    if (!Object.hasOwn(COMMANDS, name)) throw new Error(`no command ${name}; known: ${Object.keys(COMMANDS).join(", ")}`);
    return COMMANDS[name](...rest);
}, stop);

async function create() {
    const { limits, chunk } = options;
    const secured = options.modes.map((mode) => MessageSecurityMode[mode]);
    const fresh = new OPCUAServer({
        host: "127.0.0.1", hostname: "127.0.0.1", port, resourcePath: "/washbridge/tests",
        serverInfo: { applicationUri, productUri: "urn:washbridge:tests", applicationName: { text: "WashBridge test peer", locale: "en" } },
        buildInfo: { productName: "WashBridge test peer", softwareVersion: "1.0" },
        serverCertificateManager: clientStore, userCertificateManager: userStore, certificateFile, privateKeyFile: clientStore.privateKey,
        securityPolicies: options.policies.map((policy) => SecurityPolicy[policy]),
        securityModes: options.policies.includes("None") ? [MessageSecurityMode.None, ...secured] : secured,
        allowAnonymous: options.anonymous,
        userManager: { isValidUser: (name, password) => Object.hasOwn(options.users, name) && options.users[name] === password },
        maxConnectionsPerEndpoint: 200, defaultSecureTokenLifetime: options.tokenLifetime, isAuditing: false,
        allowAnonymousSubscriptionTransferOnUnsecuredChannel: true,
        serverCapabilities: {
            maxSessions: options.maxSessions, minSupportedSampleRate: options.minSampling, maxMonitoredItemsQueueSize: options.maxQueue,
            maxBrowseContinuationPoints: options.maxBrowseContinuationPoints, operationLimits: limits,
        },
        ...(chunk ? { transportSettings: { adjustTransportLimits: (hello) => capped(hello, chunk) } } : {}),
    });
    await fresh.initialize();
    return { server: fresh, space: new AddressSpace(fresh, options) };
}

function capped(hello, chunk) {
    return {
        receiveBufferSize: Math.min(hello.receiveBufferSize || chunk, chunk), sendBufferSize: Math.min(hello.sendBufferSize || chunk, chunk),
        maxMessageSize: hello.maxMessageSize || 16 << 20, maxChunkCount: hello.maxChunkCount || 4096,
    };
}

async function open() {
    await server.start();
    sockets.watch(server);
    server.on("session_activated", (session, token) => event("session activated", { token: token?.constructor?.name, user: token?.userName }));
    server.on("session_closed", (_, deleteSubscriptions) => event("session closed", { deleteSubscriptions }));
    server.on("openSecureChannelFailure", (socket, channel) => event("channel refused", { reason: String(socket?.reason ?? socket) }));
}

/** Closes the listener and the connections for a while; sessions and subscriptions live on. */
async function suspend(seconds) {
    for (const endpoint of server.endpoints) await new Promise((done) => endpoint.suspendConnection(done));
    sockets.drop("fin");
    await pause(seconds);
    for (const endpoint of server.endpoints) await new Promise((done) => endpoint.restoreConnection(done));
    return { up: true };
}

/** As if the server's computer had been switched off for a while: nothing of the old server is left. */
async function restart(seconds) {
    sockets.drop("rst");
    space.stopChanges();
    const down = pause(seconds);
    await server.shutdown(0);
    ({ server, space } = await create());
    await down;
    await open();
    return { up: true };
}

/** A certificate of a client or a user, PEM. */
async function trust(whom, file) {
    await { client: clientStore, user: userStore }[whom].trustCertificate(readCertificate(file));
}

function state() {
    const { engine } = server;
    return {
        connections: sockets.count, sessions: engine.currentSessionCount, subscriptions: engine.currentSubscriptionCount, tick: space.tick,
        cumulatedSessions: engine.cumulatedSessionCount, rejectedSessions: engine.rejectedSessionCount,
    };
}

async function stop() {
    setTimeout(() => process.exit(0), 3000).unref();
    space.stopChanges();
    sockets.drop("rst");
    try { await server.shutdown(0); } catch { /* Nobody is left to tell. */ }
    if (!options.pki) fs.rmSync(pki, { recursive: true, force: true });
    process.exit(0);
}

function pause(seconds) {
    return new Promise((done) => setTimeout(done, 1000 * seconds));
}

function freePort() {
    return new Promise((found, failed) => {
        const probe = net.createServer().once("error", failed).listen(0, "127.0.0.1", () => {
            const { port: free } = probe.address();
            probe.close(() => found(free));
        });
    });
}
