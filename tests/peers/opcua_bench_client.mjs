// An OPC UA client of the library node-opcua that measures itself, driven by JSON lines: connect, read, subscribe, close. Each is answered by
// one JSON line, {"error": ...} where it failed. Processor time is that of this process alone. Ends when its standard input does.
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import * as ua from "node-opcua";
import { print, serveLines } from "./opcua/lines.mjs";
import { certificate, store } from "./opcua/certificates.mjs";

const COMMANDS = { connect, read, subscribe, close };
const pki = fs.mkdtempSync(path.join(os.tmpdir(), "washbridge-opcua-bench-"));
const own = await store(path.join(pki, "client"), true);
let client, session;
print("READY");
await serveLines((line) => {
    const command = JSON.parse(line);
    if (!Object.hasOwn(COMMANDS, command.do)) throw new Error(`no command ${command.do}; known: ${Object.keys(COMMANDS).join(", ")}`);
    return COMMANDS[command.do](command);
}, async () => {
    await close();
    fs.rmSync(pki, { recursive: true, force: true });
    process.exit(0);
});

async function connect({ url, policy = "None" }) {
    await close();
    client = ua.OPCUAClient.create({
        applicationName: "WashBridge bench client", applicationUri: "urn:washbridge:tests:bench-client", clientCertificateManager: own,
        certificateFile: await certificate(own, "valid", "urn:washbridge:tests:bench-client", "bench-client"), privateKeyFile: own.privateKey,
        securityPolicy: ua.SecurityPolicy[policy], securityMode: ua.MessageSecurityMode[policy === "None" ? "None" : "SignAndEncrypt"],
        endpointMustExist: false, keepSessionAlive: true, connectionStrategy: { maxRetry: 0, initialDelay: 100 },
    });
    await client.connect(url);
    session = await client.createSession();
}

/** Reads the same nodes again and again, one request after the other. */
async function read({ nodes, seconds }) {
    const request = nodes.map((nodeId) => ({ nodeId, attributeId: ua.AttributeIds.Value }));
    const latencies = [];
    const processor = process.cpuUsage();
    const began = performance.now();
    for (let now = began; now - began < seconds * 1000;) {
        const values = await session.read(request);
        const then = now;
        now = performance.now();
        latencies.push((now - then) * 1000);
        for (const value of values) if (value.statusCode.value !== 0) throw new Error(`bad value: ${value.statusCode}`);
    }
    return { ...measured(processor, began), count: latencies.length, values: latencies.length * nodes.length, ...percentiles(latencies) };
}

/** One subscription; counts the values that come within the time, after it has settled. */
async function subscribe({ nodes, interval, seconds }) {
    const subscription = await session.createSubscription2({
        requestedPublishingInterval: interval, requestedLifetimeCount: 1000, requestedMaxKeepAliveCount: 10, maxNotificationsPerPublish: 0, publishingEnabled: true,
    });
    const items = nodes.map((nodeId) => ({ nodeId, attributeId: ua.AttributeIds.Value }));
    const group = await subscription.monitorItems(items, { samplingInterval: interval, queueSize: 1, discardOldest: true }, ua.TimestampsToReturn.Both);
    let values = 0, messages = 0, sum = 0;
    group.on("changed", (item, value) => {
        values++;
        sum += Number(value.value.value);
    });
    subscription.on("raw_notification", () => messages++);
    await new Promise((resolve) => setTimeout(resolve, 1500));
    values = messages = 0;
    const processor = process.cpuUsage();
    const began = performance.now();
    await new Promise((resolve) => setTimeout(resolve, seconds * 1000));
    const result = { ...measured(processor, began), values, messages, sum };
    await subscription.terminate();
    return result;
}

async function close() {
    await session?.close().catch(() => {});
    await client?.disconnect().catch(() => {});
    session = client = undefined;
}

function measured(processor, began) {
    const used = process.cpuUsage(processor);
    return { seconds: (performance.now() - began) / 1000, processorUs: used.user + used.system };
}

function percentiles(latencies) {
    latencies.sort((a, b) => a - b);
    const at = (part) => latencies[Math.min(latencies.length - 1, Math.floor(latencies.length * part))];
    return { p50Us: at(0.5), p99Us: at(0.99) };
}
