// The binary encoding of the library node-opcua, driven by JSON lines:
//   {"do": "decode", "type": "Variant", "hex": [...]}     answers {"values": [...]}, each with the form of opcua/plain.mjs
//   {"do": "encode", "type": "Variant", "values": [...]}  answers {"hex": [...]}
// Types are the built-in types' names. What the library cannot do is answered by {"error": ...} in that element's place.
// Prints "READY". Ends when its standard input does.
import * as ua from "node-opcua";
import { findBuiltInType } from "node-opcua-factory";
import { print, serveLines } from "./opcua/lines.mjs";
import { fromPlain, toPlain } from "./opcua/plain.mjs";

const COMMANDS = { decode, encode };
const STRUCTURED = { Variant: ua.Variant, DataValue: ua.DataValue, DiagnosticInfo: ua.DiagnosticInfo, QualifiedName: ua.QualifiedName, LocalizedText: ua.LocalizedText };

print("READY");
await serveLines((line) => {
    const command = JSON.parse(line);
    return COMMANDS[command.do](command);
}, () => process.exit(0));

function decode({ type, hex }) {
    return { values: hex.map((text) => attempt(() => {
        const bytes = Buffer.from(text, "hex");
        const stream = new ua.BinaryStream(bytes);
        const value = decodeOne(type, stream);
        if (stream.length !== bytes.length) throw new Error(`${stream.length} of ${bytes.length} bytes read`);
        return toPlain(type, value);
    })) };
}

function encode({ type, values }) {
    return { hex: values.map((value) => attempt(() => {
        const stream = new ua.BinaryStream(1 << 16);
        encodeOne(type, fromPlain(type, value), stream);
        return stream.buffer.subarray(0, stream.length).toString("hex");
    })) };
}

function decodeOne(type, stream) {
    if (!(type in STRUCTURED)) return findBuiltInType(type).decode(stream);
    const value = new STRUCTURED[type]();
    value.decode(stream);
    return value;
}

function encodeOne(type, value, stream) {
    if (type in STRUCTURED) value.encode(stream);
    else findBuiltInType(type).encode(value, stream);
}

function attempt(work) {
    try {
        return work();
    } catch (error) {
        return { error: String(error.message).split("\n")[0] };
    }
}
