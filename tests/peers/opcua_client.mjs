// An OPC UA client of the library node-opcua, driven by JSON lines such as {"do": "connect", "url": ...}; each is answered by one
// JSON line, {"error": ...} where it failed. Options come as one JSON argument (see DEFAULTS). Ends when its standard input does.
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import * as ua from "node-opcua";
import { readCertificate } from "node-opcua-crypto";
import { optionsFrom, print, serveLines } from "./opcua/lines.mjs";
import { certificate, store } from "./opcua/certificates.mjs";
import { plain } from "./opcua/plain.mjs";

const DEFAULTS = {
    pki: null,              // folder for keys and certificates; a temporary one that is removed at the end where not given
    acceptServers: true,    // whether unknown server certificates are accepted
};
const APPLICATION_URI = "urn:washbridge:tests:peer-client";
const COMMANDS = { endpoints, servers, files, connect, browse, translate, read, write, service, subscribe, report, unsubscribe, transfer, state, close };

const options = optionsFrom(DEFAULTS);
const pki = options.pki ?? fs.mkdtempSync(path.join(os.tmpdir(), "washbridge-opcua-client-"));
const own = await store(path.join(pki, "client"), options.acceptServers);
let client, session;
const seen = { lost: 0, back: 0, renewed: 0 };
const subscriptions = new Map();
print("READY");
await serveLines((line) => {
    const command = JSON.parse(line);
    if (!Object.hasOwn(COMMANDS, command.do)) throw new Error(`no command ${command.do}; known: ${Object.keys(COMMANDS).join(", ")}`);
    return COMMANDS[command.do](command);
}, stop);

function create({ policy = "None", mode, certificateFile, tokenLifetime = 600_000, reconnect = false, timeout = 10_000, sessionTimeout = 60_000, chunk = 0 }) {
    return ua.OPCUAClient.create({
        applicationName: "WashBridge test client", applicationUri: APPLICATION_URI, clientCertificateManager: own,
        ...(certificateFile ? { certificateFile, privateKeyFile: own.privateKey } : {}),
        securityPolicy: ua.SecurityPolicy[policy], securityMode: ua.MessageSecurityMode[mode ?? (policy === "None" ? "None" : "SignAndEncrypt")],
        endpointMustExist: false, requestedSessionTimeout: sessionTimeout, defaultSecureTokenLifetime: tokenLifetime, keepSessionAlive: true,
        connectionStrategy: reconnect ? { maxRetry: -1, initialDelay: 100, maxDelay: 1000 } : { maxRetry: 0, initialDelay: 100 },
        transportTimeout: timeout,
        ...(chunk ? { transportSettings: { maxChunkCount: 4096, maxMessageSize: 16 << 20, receiveBufferSize: chunk, sendBufferSize: chunk } } : {}),
    });
}

async function identityOf(identity) {
    if (!identity) return { type: ua.UserTokenType.Anonymous };
    if (identity.user !== undefined) return { type: ua.UserTokenType.UserName, userName: identity.user, password: identity.password };
    const file = await certificate(own, identity.certificate, "urn:washbridge:tests:user", identity.name ?? "peer-user");
    return { type: ua.UserTokenType.Certificate, certificateData: readCertificate(file), privateKey: fs.readFileSync(own.privateKey, "ascii") };
}

/** The files of certificates, made where they do not exist: for the other side's trust list. */
async function files({ kinds = ["valid"], user }) {
    const uri = user ? "urn:washbridge:tests:user" : APPLICATION_URI;
    const made = {};
    for (const kind of kinds) made[kind] = await certificate(own, kind, uri, user ?? "peer-client");
    return { files: made, privateKey: own.privateKey, store: own.rootDir };
}

async function endpoints({ url }) {
    const probe = create({});
    try {
        await probe.connect(url);
        const found = await probe.getEndpoints({ endpointUrl: url });
        return {
            endpoints: found.map((e) => ({
                url: e.endpointUrl, policy: e.securityPolicyUri.split("#")[1], mode: ua.MessageSecurityMode[e.securityMode], level: e.securityLevel,
                applicationUri: e.server.applicationUri,
                tokens: e.userIdentityTokens.map((t) => ({ id: t.policyId, type: ua.UserTokenType[t.tokenType], policy: t.securityPolicyUri?.split("#")[1] ?? null })),
            })),
        };
    } finally {
        await probe.disconnect();
    }
}

async function servers({ url }) {
    const probe = create({});
    try {
        await probe.connect(url);
        return { servers: (await probe.findServers()).map((s) => ({ applicationUri: s.applicationUri, urls: s.discoveryUrls })) };
    } finally {
        await probe.disconnect();
    }
}

async function connect(command) {
    await close();
    const certificateFile = await certificate(own, command.certificate ?? "valid", APPLICATION_URI, "peer-client");
    const fresh = create({ ...command, certificateFile });
    fresh._getApplicationUri = () => APPLICATION_URI;       // The library would take what the certificate says, even if that is another.
    fresh.on("connection_lost", () => seen.lost++);
    fresh.on("connection_reestablished", () => seen.back++);
    fresh.on("security_token_renewed", () => seen.renewed++);
    try {
        await fresh.connect(command.url);
        session = await fresh.createSession(await identityOf(command.identity));
        client = fresh;
        return { session: session.sessionId.toString() };
    } catch (error) {
        await fresh.disconnect().catch(() => {});
        throw error;
    }
}

/** All references of a node, through BrowseNext; "all" goes down the hierarchy and returns the variables found. */
async function browse({ node, max = 0, all = false }) {
    const found = [];
    const visited = new Set();
    const open = [node];
    let calls = 0;
    session.requestedMaxReferencesPerNode = max;
    while (open.length > 0) {
        const next = open.shift();
        if (visited.has(next)) continue;
        visited.add(next);
        let result = await session.browse({
            nodeId: next, referenceTypeId: "HierarchicalReferences", includeSubtypes: true, browseDirection: ua.BrowseDirection.Forward,
            resultMask: 63, nodeClassMask: 0,
        });
        for (;;) {
            calls++;
            if (result.statusCode.isNot(ua.StatusCodes.Good)) throw new Error(`browse ${next}: ${result.statusCode.name}`);
            for (const r of result.references ?? []) {
                const entry = { node: r.nodeId.toString(), name: r.browseName.toString(), class: ua.NodeClass[r.nodeClass], reference: r.referenceTypeId.toString() };
                if (!all || entry.class === "Variable") found.push(entry);
                if (all) open.push(entry.node);
            }
            if (!result.continuationPoint?.length) break;
            result = await session.browseNext(result.continuationPoint, false);
        }
    }
    return { calls, references: found };
}

async function translate({ from, path: relativePath }) {
    const result = await session.translateBrowsePath(ua.makeBrowsePath(from, relativePath));
    return { status: result.statusCode.name, targets: (result.targets ?? []).map((t) => t.targetId.toString()) };
}

async function read({ nodes, attribute = "Value", maxAge = 0 }) {
    const values = await session.read(nodes.map((nodeId) => ({ nodeId, attributeId: ua.AttributeIds[attribute] })), maxAge);
    return { values: values.map(dataValue) };
}

function dataValue(d) {
    return { status: d.statusCode.name, code: d.statusCode.value, value: plain(d.value), source: d.sourceTimestamp?.toISOString() ?? null, server: d.serverTimestamp?.toISOString() ?? null };
}

async function write({ node, type, value }) {
    return { status: (await session.write({ nodeId: node, attributeId: ua.AttributeIds.Value, value: { value: { dataType: ua.DataType[type], value } } })).name };
}

/** Sends a request by its name, filled with defaults, on the open session: for services that must be refused. */
async function service({ name, fields = {} }) {
    const request = new ua[`${name}Request`](fields);
    return new Promise((done) => session.performMessageTransaction(request, (error, response) =>
        done({ status: error ? error.message.split("\n")[0] : response.responseHeader.serviceResult.name, response: response?.constructor.name ?? null })));
}

/**
 * Subscribes and keeps count. With "counting", values are expected to go up by one: "holes" are the values missed.
 * With "split", items are created by that many a call.
 */
async function subscribe({ nodes, publishing = 100, sampling = 100, queue = 1000, keepAlive = 10, lifetime = 100, counting = false, split = 500, discardOldest = true }) {
    const subscription = await session.createSubscription2({
        requestedPublishingInterval: publishing, requestedLifetimeCount: lifetime, requestedMaxKeepAliveCount: keepAlive,
        maxNotificationsPerPublish: 0, publishingEnabled: true, priority: 1,
    });
    const watch = { subscription, notifications: 0, holes: 0, repeats: 0, bad: 0, overflows: 0, messages: 0, keepAlives: 0, sequenceHoles: 0, sequence: 0, last: new Map(), ended: null };
    subscription.on("keepalive", () => watch.keepAlives++);
    subscription.on("status_changed", (status) => { watch.ended = status.name; });
    subscription.on("raw_notification", (message) => {
        if (!message.notificationData?.length) return;      // A keep-alive has the number of the message to come.
        watch.messages++;
        if (watch.sequence && message.sequenceNumber !== watch.sequence + 1) watch.sequenceHoles++;
        watch.sequence = message.sequenceNumber;
    });
    const statuses = [];
    const revised = [];
    for (let i = 0; i < nodes.length; i += split) {
        const group = await subscription.monitorItems(
            nodes.slice(i, i + split).map((nodeId) => ({ nodeId, attributeId: ua.AttributeIds.Value })),
            { samplingInterval: sampling, queueSize: queue, discardOldest }, ua.TimestampsToReturn.Both);
        for (const item of group.monitoredItems) {
            statuses.push(item.statusCode.name);
            revised.push({ sampling: item.result?.revisedSamplingInterval, queue: item.result?.revisedQueueSize });
        }
        group.on("changed", (item, value) => note(watch, item.itemToMonitor.nodeId.toString(), value, counting));
    }
    subscriptions.set(subscription.subscriptionId, watch);
    return { id: subscription.subscriptionId, publishing: subscription.publishingInterval, statuses, revised };
}

function note(watch, node, value, counting) {
    watch.notifications++;
    if (value.statusCode.isBad()) watch.bad++;
    if ((value.statusCode.value & 0x480) === 0x480) watch.overflows++;
    if (counting && value.value) {
        const number = Number(Array.isArray(value.value.value) ? value.value.value[1] : value.value.value);
        const last = watch.last.get(node);
        if (last !== undefined && number > last + 1) watch.holes += number - last - 1;
        if (last !== undefined && number <= last) watch.repeats++;
        watch.last.set(node, number);
    } else {
        watch.last.set(node, dataValue(value));
    }
}

function report({ id = [...subscriptions.keys()][0] }) {
    const { subscription, last, ...counts } = subscriptions.get(id);
    return { ...counts, nodes: last.size, last: Object.fromEntries([...last].slice(0, 20)) };
}

async function unsubscribe({ id }) {
    await subscriptions.get(id).subscription.terminate();
    subscriptions.delete(id);
}

/** Opens a second session on the same channel, and moves a subscription to it. */
async function transfer({ id, identity }) {
    const second = await client.createSession(await identityOf(identity));
    const response = await second.transferSubscriptions({ subscriptionIds: [id], sendInitialValues: true });
    await second.close(false);
    return { service: response.responseHeader.serviceResult.name, results: (response.results ?? []).map((r) => ({ status: r.statusCode.name, available: r.availableSequenceNumbers })) };
}

function state() {
    return { ...seen, connected: Boolean(client && !client.isReconnecting), memoryMb: Math.round(process.memoryUsage().rss / 1048576) };
}

async function close() {
    const [oldSession, oldClient] = [session, client];
    session = client = undefined;
    subscriptions.clear();
    await oldSession?.close(true).catch(() => {});
    await oldClient?.disconnect().catch(() => {});
    return {};
}

async function stop() {
    setTimeout(() => process.exit(0), 3000).unref();
    await close();
    if (!options.pki) fs.rmSync(pki, { recursive: true, force: true });
    process.exit(0);
}
