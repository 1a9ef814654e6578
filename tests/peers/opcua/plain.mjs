// Values of the library to JSON that loses nothing, and back:
//   Int64, UInt64        decimal text                  DateTime       decimal text, 100 ns since 1601
//   Float, Double        number, or NaN, Infinity, -Infinity, -0 as text
//   ByteString           hexadecimal text or null      Guid           upper case text
//   NodeId               {ns, i | s | g | b}           ExpandedNodeId the same with uri and server where set
//   StatusCode           number                        QualifiedName  {ns, name}      LocalizedText {locale, text}
//   ExtensionObject      null or {type, body}: the NodeId of the encoding, the body as hexadecimal text
//   Variant              null, {type, value} or {type, array, dimensions for a matrix}
//   DataValue            {value, status, source, sourcePico, server, serverPico}; DiagnosticInfo: its fields; each only where set
import {
    BinaryStream, coerceNodeId, DataType, DataValue, decodeStatusCode, DiagnosticInfo, ExpandedNodeId, LocalizedText, NodeId,
    NodeIdType, QualifiedName, Variant, VariantArrayType,
} from "node-opcua";
import { OpaqueStructure } from "node-opcua-extension-object";
import { getStandardDataTypeFactory } from "node-opcua-factory";

const EPOCH_1601 = 11_644_473_600_000n;     // ms from 1601 to 1970
const PICO_A_TICK = 100_000;
const ID_KEYS = { [NodeIdType.NUMERIC]: "i", [NodeIdType.STRING]: "s", [NodeIdType.GUID]: "g", [NodeIdType.BYTESTRING]: "b" };

export function plain(variant) {
    if (!variant || variant.dataType === DataType.Null) return null;
    const type = DataType[variant.dataType];
    if (variant.arrayType === VariantArrayType.Scalar) return { type, value: toPlain(type, variant.value) };
    const array = variant.value === null || variant.value === undefined ? null : Array.from(variant.value, (value) => toPlain(type, value));
    return { type, array, ...(variant.arrayType === VariantArrayType.Matrix ? { dimensions: Array.from(variant.dimensions ?? []) } : {}) };
}

export function toPlain(type, value) {
    if (type === "Variant") return plain(value);
    if (value === null || value === undefined) return null;
    switch (type) {
        case "Int64": return String(BigInt.asIntN(64, wide(value)));
        case "UInt64": return String(wide(value));
        case "Float":
        case "Double": return Number.isFinite(value) && !Object.is(value, -0) ? value : Object.is(value, -0) ? "-0" : String(value);
        case "DateTime": return ticks(value, value.picoseconds ?? 0);
        case "ByteString": return value.toString("hex");
        case "NodeId":
        case "ExpandedNodeId": return plainId(value);
        case "StatusCode": return value.value;
        case "QualifiedName": return { ns: value.namespaceIndex, name: value.name };
        case "LocalizedText": return { locale: value.locale, text: value.text };
        case "ExtensionObject": return plainObject(value);
        case "DataValue": return plainDataValue(value);
        case "DiagnosticInfo": return plainDiagnostic(value);
        default: return value;
    }
}

export function fromPlain(type, value) {
    if (type === "Variant") return variantFrom(value);
    if (value === null) return null;
    switch (type) {
        case "Int64":
        case "UInt64": return narrow(BigInt.asUintN(64, BigInt(value)));
        case "Float":
        case "Double": return Number(value);
        case "DateTime": return dateFrom(value);
        case "ByteString": return Buffer.from(value, "hex");
        case "NodeId": return idFrom(value);
        case "ExpandedNodeId": { const id = idFrom(value); return new ExpandedNodeId(id.identifierType, id.value, id.namespace, value.uri, value.server); }
        case "StatusCode": return statusFrom(value);
        case "QualifiedName": return new QualifiedName({ namespaceIndex: value.ns, name: value.name });
        case "LocalizedText": return new LocalizedText(value);
        case "ExtensionObject": return objectFrom(value);
        case "DataValue": return dataValueFrom(value);
        case "DiagnosticInfo": return diagnosticFrom(value);
        default: return value;
    }
}

function variantFrom(value) {
    if (value === null) return new Variant({ dataType: DataType.Null });
    const dataType = DataType[value.type];
    if ("value" in value) return new Variant({ dataType, arrayType: VariantArrayType.Scalar, value: fromPlain(value.type, value.value) });
    const array = value.array?.map((element) => fromPlain(value.type, element)) ?? null;
    return value.dimensions
        ? new Variant({ dataType, arrayType: VariantArrayType.Matrix, value: array, dimensions: value.dimensions })
        : new Variant({ dataType, arrayType: VariantArrayType.Array, value: array });
}

const wide = ([high, low]) => (BigInt(high >>> 0) << 32n) | BigInt(low >>> 0);
const narrow = (value) => [Number(value >> 32n), Number(value & 0xffffffffn)];
const ticks = (date, pico) => String((BigInt(date.getTime()) + EPOCH_1601) * 10_000n + BigInt(Math.floor(pico / PICO_A_TICK)));

function dateFrom(text) {
    const value = BigInt(text);
    const date = new Date(Number(value / 10_000n - EPOCH_1601));
    const rest = Number(value % 10_000n);
    if (rest) date.picoseconds = rest * PICO_A_TICK;
    return date;
}

function plainId(id) {
    const value = id.identifierType === NodeIdType.BYTESTRING ? id.value?.toString("hex") ?? null : id.value;
    return { ns: id.namespace, [ID_KEYS[id.identifierType]]: value, ...(id.namespaceUri ? { uri: id.namespaceUri } : {}), ...(id.serverIndex ? { server: id.serverIndex } : {}) };
}

function idFrom({ ns, i, s, g, b }) {
    if (i !== undefined) return new NodeId(NodeIdType.NUMERIC, i, ns);
    if (s !== undefined) return new NodeId(NodeIdType.STRING, s, ns);
    return g !== undefined ? new NodeId(NodeIdType.GUID, g, ns) : new NodeId(NodeIdType.BYTESTRING, b === null ? null : Buffer.from(b, "hex"), ns);
}

function statusFrom(value) {
    const stream = new BinaryStream(4);
    stream.writeUInt32(value);
    return decodeStatusCode(new BinaryStream(stream.buffer));
}

function plainObject(object) {
    if (object instanceof OpaqueStructure) return { type: plainId(object.nodeId), body: object.buffer.toString("hex") };
    const stream = new BinaryStream(1 << 16);
    object.encode(stream);
    return { type: plainId(object.schema.encodingDefaultBinary), body: stream.buffer.subarray(0, stream.length).toString("hex") };
}

function objectFrom({ type, body }) {
    const id = idFrom(type);
    const bytes = Buffer.from(body, "hex");
    if (id.namespace !== 0) return new OpaqueStructure(id, bytes);
    const object = getStandardDataTypeFactory().constructObject(coerceNodeId(id));
    object.decode(new BinaryStream(bytes));
    return object;
}

function plainDataValue(d) {
    const value = plain(d.value);
    return {
        ...(value ? { value } : {}), ...(d.statusCode.value ? { status: d.statusCode.value } : {}),
        ...(d.sourceTimestamp ? { source: ticks(d.sourceTimestamp, d.sourcePicoseconds), ...picos("sourcePico", d.sourcePicoseconds) } : {}),
        ...(d.serverTimestamp ? { server: ticks(d.serverTimestamp, d.serverPicoseconds), ...picos("serverPico", d.serverPicoseconds) } : {}),
    };
}

/** On the wire: tens of picoseconds below the 100 ns of the timestamp. */
const picos = (name, pico) => (pico % PICO_A_TICK ? { [name]: Math.floor((pico % PICO_A_TICK) / 10) } : {});

function dataValueFrom(v) {
    const d = new DataValue();
    d.value = variantFrom(v.value ?? null);     // Given to the constructor, it would be copied, and a structure of unknown type lost.
    d.statusCode = statusFrom(v.status ?? 0);
    for (const side of ["source", "server"]) {
        if (v[side] === undefined) continue;
        d[`${side}Timestamp`] = dateFrom(v[side]);
        d[`${side}Picoseconds`] = Number(BigInt(v[side]) % 10_000n) * PICO_A_TICK + 10 * (v[`${side}Pico`] ?? 0);
    }
    return d;
}

const INDICES = { symbolicId: "symbolicId", namespaceUri: "namespaceURI", locale: "locale", localizedText: "localizedText" };

function plainDiagnostic(d) {
    const out = {};
    for (const [name, field] of Object.entries(INDICES)) if (d[field] >= 0) out[name] = d[field];
    if (d.additionalInfo) out.additionalInfo = d.additionalInfo;
    if (d.innerStatusCode?.value) out.innerStatusCode = d.innerStatusCode.value;
    if (d.innerDiagnosticInfo) out.inner = plainDiagnostic(d.innerDiagnosticInfo);
    return out;
}

function diagnosticFrom(v) {
    const options = { additionalInfo: v.additionalInfo ?? null };
    for (const [name, field] of Object.entries(INDICES)) if (v[name] !== undefined) options[field] = v[name];
    const d = new DiagnosticInfo(options);
    if (v.innerStatusCode) d.innerStatusCode = statusFrom(v.innerStatusCode);
    if (v.inner) d.innerDiagnosticInfo = diagnosticFrom(v.inner);
    return d;
}
