// The test server's nodes, all in one namespace:
//   Plant/Washer<k>          an object per washer with 60 counting variables V<i>: all equal the tick, whatever their type
//   Types                    Scalar.<type>, Array.<type>, Matrix.Double, with the values below
//   Analog                   Analog.Temperature: EngineeringUnits degree Celsius, EURange 0 to 100, a sine
//   Long                     Long.<length>: strings of 16 Ki, 128 Ki and 1 Mi characters
//   Big                      Big.0 ... for browsing with continuation points
//   Odd                      values with bad and uncertain statuses, no value, odd timestamps, not readable
import * as ua from "node-opcua";

const { DataType, StatusCodes, VariantArrayType } = ua;

export const NAMESPACE = "urn:washbridge:tests:plant";
const PER_WASHER = 60;
const COUNTING = ["UInt32", "Int32", "Int64", "Float", "Double", "UInt64"];
const CELSIUS = { namespaceUri: "http://www.opcfoundation.org/UA/units/un/cefact", unitId: 4408652, displayName: "°C", description: "degree Celsius" };

/** One known value of each built-in type. The test reads the same values back. */
const SAMPLES = {
    Boolean: [true, false, true],
    SByte: [-128, 0, 127],
    Byte: [0, 1, 255],
    Int16: [-32768, 0, 32767],
    UInt16: [0, 1, 65535],
    Int32: [-2147483648, 0, 2147483647],
    UInt32: [0, 1, 4294967295],
    Int64: [[0x80000000, 0], [0, 0], [0x7fffffff, 0xffffffff]],
    UInt64: [[0, 0], [0, 1], [0xffffffff, 0xffffffff]],
    Float: [-6.5, 0, 3.4028234663852886e38],
    Double: [-6.5, 0, 1.7976931348623157e308],
    String: ["水Boy", "", "keg"],
    DateTime: ["1970-01-01T00:00:00Z", "2000-01-01T00:00:00Z", "2024-02-29T12:34:56.789Z"].map((text) => new Date(text)),
    Guid: ["72962B91-FA75-4AE6-8D28-B404DC7DAF63", "00000000-0000-0000-0000-000000000000", "FFFFFFFF-FFFF-FFFF-FFFF-FFFFFFFFFFFF"],
    ByteString: [Buffer.from("00ff10", "hex"), Buffer.alloc(0), Buffer.from("keg")],
    XmlElement: ["<A>Hot水</A>", "<B/>", "<C>1</C>"],
    NodeId: ["ns=1;s=Hot水", "i=72", "ns=5;i=1025"].map((text) => ua.resolveNodeId(text)),
    ExpandedNodeId: ["i=72", "ns=5;i=1025", "ns=1;s=keg"].map((text) => ua.coerceExpandedNodeId(text)),
    StatusCode: [StatusCodes.BadCommunicationError, StatusCodes.Good, StatusCodes.UncertainLastUsableValue],
    QualifiedName: [{ namespaceIndex: 1, name: "keg" }, { namespaceIndex: 0, name: "" }, { namespaceIndex: 7, name: "水" }],
    LocalizedText: [{ locale: "en", text: "keg" }, { text: "only text" }, { locale: "de", text: "Fass" }],
    ExtensionObject: [[-1, 1], [0, 100], [20, 80]].map(([low, high]) => new ua.Range({ low, high })),
};

/** A scalar of a counting type; the library holds 64 bits as two numbers and then needs to be told that they are no array. */
const counted = (type, tick) => ({
    dataType: DataType[type], arrayType: VariantArrayType.Scalar,
    value: type === "Int64" || type === "UInt64" ? [Math.floor(tick / 2 ** 32), tick >>> 0] : tick,
});

export class AddressSpace {
    #nodes = new Map();
    #counting = [];
    #namespace;
    #timer;
    tick = 0;

    constructor(server, options) {
        this.#namespace = server.engine.addressSpace.registerNamespace(NAMESPACE);
        this.#addPlant(options.variables);
        this.#addTypes();
        this.#addAnalog();
        this.#addLong();
        this.#addBig(options.bigFolder);
        this.#addOdd();
        if (options.rateHz > 0) this.#timer = setInterval(() => this.#step(), 1000 / options.rateHz);
    }

    get namespaceIndex() {
        return this.#namespace.index;
    }

    stopChanges() {
        clearInterval(this.#timer);
    }

    /** The node of an identifier such as V0, for the commands. */
    node(name) {
        const node = this.#nodes.get(name);
        if (!node) throw new Error(`no node ${name}`);
        return node;
    }

    set(name, value) {
        const node = this.node(name);
        node.setValueFromSource(counted(DataType[node.readValue().value.dataType], value));
        this.#freeze(name);
    }

    status(name, code) {
        const node = this.node(name);
        const status = StatusCodes[code];
        if (!status) throw new Error(`no status ${code}`);
        node.setValueFromSource(node.readValue().value, status);
        this.#freeze(name);
    }

    remove(name) {
        this.#namespace.deleteNode(this.node(name));
        this.#freeze(name);
        this.#nodes.delete(name);
    }

    #freeze(name) {
        this.#counting = this.#counting.filter((entry) => entry.name !== name);
    }

    #step() {
        this.tick++;
        for (const { node, type } of this.#counting) {
            node.setValueFromSource(counted(type, this.tick));
        }
    }

    #folder(name, parent = "ObjectsFolder") {
        return this.#namespace.addFolder(parent, { browseName: name, nodeId: `s=${name}` });
    }

    #variable(parent, name, dataType, value, more = {}) {
        const node = this.#namespace.addVariable({
            organizedBy: parent, browseName: name, nodeId: `s=${name}`, dataType, minimumSamplingInterval: 0, accessLevel: "CurrentRead",
            userAccessLevel: "CurrentRead", value, ...more,
        });
        this.#nodes.set(name, node);
        return node;
    }

    #addPlant(count) {
        const plant = this.#folder("Plant");
        let washer;
        for (let i = 0; i < count; i++) {
            if (i % PER_WASHER === 0) {
                const name = `Washer${1 + i / PER_WASHER}`;
                washer = this.#namespace.addObject({ organizedBy: plant, browseName: name, nodeId: `s=${name}` });
            }
            const type = COUNTING[i % COUNTING.length];
            const name = `V${i}`;
            const node = this.#variable(washer, name, type, counted(type, 0));
            this.#counting.push({ name, node, type });
        }
    }

    #addTypes() {
        const folder = this.#folder("Types");
        for (const [type, values] of Object.entries(SAMPLES)) {
            const dataType = type === "ExtensionObject" ? "Range" : type;
            const array = { dataType: DataType[type], arrayType: VariantArrayType.Array, value: values };
            this.#variable(folder, `Scalar.${type}`, dataType, { dataType: DataType[type], arrayType: VariantArrayType.Scalar, value: values[0] });
            this.#variable(folder, `Array.${type}`, dataType, array, { valueRank: 1, arrayDimensions: [0] });
        }
        const variants = [{ dataType: DataType.Int32, value: 7 }, { dataType: DataType.String, value: "keg" }].map((value) => new ua.Variant(value));
        this.#variable(folder, "Array.Variant", "BaseDataType", { dataType: DataType.Variant, arrayType: VariantArrayType.Array, value: variants },
            { valueRank: 1, arrayDimensions: [0] });
        this.#variable(folder, "Matrix.Double", "Double",
            { dataType: DataType.Double, arrayType: VariantArrayType.Matrix, dimensions: [2, 3], value: [0, 1, 2, 10, 11, 12] },
            { valueRank: 2, arrayDimensions: [2, 3] });
    }

    #addAnalog() {
        const start = Date.now();
        const value = () => new ua.Variant({ dataType: DataType.Double, value: 60 + 10 * Math.sin((Date.now() - start) / 2000) });
        const node = this.#namespace.addAnalogDataItem({
            organizedBy: this.#folder("Analog"), browseName: "Analog.Temperature", nodeId: "s=Analog.Temperature", dataType: "Double",
            engineeringUnitsRange: { low: 0, high: 100 }, engineeringUnits: CELSIUS, minimumSamplingInterval: 10, value: { get: value },
        });
        this.#nodes.set("Analog.Temperature", node);
    }

    #addLong() {
        const folder = this.#folder("Long");
        for (const length of [16 * 1024, 128 * 1024, 1024 * 1024]) {
            this.#variable(folder, `Long.${length}`, "String", { dataType: DataType.String, value: "0123456789abcdef".repeat(length / 16) });
        }
    }

    #addBig(count) {
        const folder = this.#folder("Big");
        for (let i = 0; i < count; i++) this.#variable(folder, `Big.${i}`, "Int32", { dataType: DataType.Int32, value: i });
    }

    #addOdd() {
        const folder = this.#folder("Odd");
        const value = { dataType: DataType.Double, value: 42 };
        for (const [name, status] of [["Odd.Bad", "BadSensorFailure"], ["Odd.Uncertain", "UncertainSensorNotAccurate"], ["Odd.Local", "GoodLocalOverride"]]) {
            this.#variable(folder, name, "Double", value).setValueFromSource(value, StatusCodes[status]);
        }
        this.#variable(folder, "Odd.Ahead", "Double", value).setValueFromSource(value, StatusCodes.Good, new Date(Date.now() + 3_600_000));
        this.#variable(folder, "Odd.NotReadable", "Double", value, { accessLevel: 0, userAccessLevel: 0 });
    }
}
