using CsCheck;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.Protocols.Tests.OpcUa.Encoding;

/// <summary>Random values of every built-in type, nested where the standard allows it.</summary>
internal static class Generators
{
    public static readonly Gen<DateTime> Time = Gen.Long[
        new DateTime(1601, 1, 1, 0, 0, 0, DateTimeKind.Utc).Ticks + 1,
        new DateTime(9999, 12, 31, 23, 59, 58, DateTimeKind.Utc).Ticks].Select(ticks => new DateTime(ticks, DateTimeKind.Utc));

    public static readonly Gen<string?> Text = Gen.OneOf(Gen.Const((string?)null), Gen.Const((string?)""), Gen.String[Gen.Char.AlphaNumeric, 0, 12].Select(s => (string?)s), Gen.Const((string?)"Hot水 ½"));

    public static readonly Gen<byte[]?> Bytes = Gen.OneOf(Gen.Const((byte[]?)null), Gen.Byte.Array[0, 20].Select(b => (byte[]?)b));

    public static readonly Gen<StatusCode> Status = Gen.UInt.Select(v => new StatusCode(v));

    public static readonly Gen<NodeId> Node = Gen.OneOf(
        Gen.UInt[0, 300].Select(i => new NodeId(i)),
        Gen.Select(Gen.UShort, Gen.UInt, (ns, i) => new NodeId(ns, i)),
        Gen.Select(Gen.UShort[0, 300], Gen.UInt[0, 70_000], (ns, i) => new NodeId(ns, i)),
        Gen.Select(Gen.UShort, Gen.String[1, 10], (ns, s) => new NodeId(ns, WellFormed(s))),
        Gen.Select(Gen.UShort, Gen.Guid, (ns, g) => new NodeId(ns, g)),
        Gen.Select(Gen.UShort, Gen.Byte.Array[0, 20], (ns, b) => new NodeId(ns, b)));

    public static readonly Gen<ExpandedNodeId> ExpandedNode = Gen.Select(Node, Gen.OneOf(Gen.Const((string?)null), Gen.Const((string?)"urn:x")), Gen.UInt[0, 3], (n, uri, server) => new ExpandedNodeId(uri is null ? n : new NodeId(0, n.Number), uri, server));

    public static readonly Gen<QualifiedName> Name = Gen.Select(Gen.UShort, Text, (ns, n) => new QualifiedName(ns, n));

    public static readonly Gen<LocalizedText> Localized = Gen.Select(Text, Text, (l, t) => new LocalizedText(l, t));

    public static readonly Gen<ExtensionObject> Extension = Gen.OneOf(
        Gen.Select(Node, Bytes, (n, b) => new ExtensionObject(n, b)),
        Gen.Select(Node, Text, (n, x) => new ExtensionObject(n, new XmlElement(x))));

    public static readonly Gen<DiagnosticInfo?> Diagnostics = Diagnostic(2);

    public static readonly Gen<Variant> Variant = Variants(2);

    public static readonly Gen<DataValue> Data = DataValues(Variant);

    /// <summary>Lone surrogates have no UTF-8 form.</summary>
    private static string WellFormed(string text) => new([.. text.Select(c => char.IsSurrogate(c) ? '?' : c)]);

    private static Gen<DiagnosticInfo?> Diagnostic(int depth) => Gen.Select(Gen.Int.Nullable(), Gen.Int.Nullable(), Gen.Int.Nullable(), Gen.Int.Nullable(), Text, Status.Nullable())
        .SelectMany(t => (depth == 0 ? Gen.Const((DiagnosticInfo?)null) : Gen.OneOf(Gen.Const((DiagnosticInfo?)null), Diagnostic(depth - 1)))
            .Select(inner => Something(new DiagnosticInfo
            {
                SymbolicId = t.Item1,
                NamespaceUri = t.Item2,
                Locale = t.Item3,
                LocalizedText = t.Item4,
                AdditionalInfo = t.Item5,
                InnerStatusCode = t.Item6,
                Inner = inner,
            })));

    /// <summary>One without any field and none at all are the same on the wire.</summary>
    private static DiagnosticInfo? Something(DiagnosticInfo info) => info == new DiagnosticInfo() ? null : info;

    private static Gen<DataValue> DataValues(Gen<Variant> variant) => Gen.Select(variant, Status, Time.Nullable(), Time.Nullable(), Gen.UShort, Gen.UShort, (v, s, source, server, sp, vp) =>
        new DataValue(v, s, source, server, sp, vp));

    private static Gen<Variant> Variants(int depth)
    {
        var scalars = new List<Gen<Variant>>
        {
            Gen.Const(default(Variant)),
            Gen.Bool.Select(v => (Variant)v),
            Gen.SByte.Select(v => (Variant)v),
            Gen.Byte.Select(v => (Variant)v),
            Gen.Short.Select(v => (Variant)v),
            Gen.UShort.Select(v => (Variant)v),
            Gen.Int.Select(v => (Variant)v),
            Gen.UInt.Select(v => (Variant)v),
            Gen.Long.Select(v => (Variant)v),
            Gen.ULong.Select(v => (Variant)v),
            Gen.Float.Select(v => (Variant)v),
            Gen.Double.Select(v => (Variant)v),
            Text.Select(v => (Variant)v),
            Time.Select(v => (Variant)v),
            Gen.Guid.Select(v => (Variant)v),
            Bytes.Select(v => WashBridge.Protocols.OpcUa.Variant.ByteString(v)),
            Text.Select(v => (Variant)new XmlElement(v)),
            Node.Select(v => (Variant)v),
            ExpandedNode.Select(v => (Variant)v),
            Status.Select(v => (Variant)v),
            Name.Select(v => (Variant)v),
            Localized.Select(v => (Variant)v),
            Extension.Select(v => (Variant)v),
            Diagnostics.Select(v => WashBridge.Protocols.OpcUa.Variant.Of(v)),
        };
        var arrays = new List<Gen<Variant>>
        {
            Arrays(Gen.Bool),
            Arrays(Gen.SByte),
            Arrays(Gen.Byte),
            Arrays(Gen.Short),
            Arrays(Gen.UShort),
            Arrays(Gen.Int),
            Arrays(Gen.UInt),
            Arrays(Gen.Long),
            Arrays(Gen.ULong),
            Arrays(Gen.Float),
            Arrays(Gen.Double),
            Arrays(Text),
            Arrays(Time),
            Arrays(Gen.Guid),
            Arrays(Bytes),
            Arrays(Text.Select(t => new XmlElement(t))),
            Arrays(Node),
            Arrays(ExpandedNode),
            Arrays(Status),
            Arrays(Name),
            Arrays(Localized),
            Arrays(Extension),
            Arrays(Diagnostics),
        };
        if (depth > 0)
        {
            var inner = Variants(depth - 1);
            scalars.Add(DataValues(inner).Select(v => WashBridge.Protocols.OpcUa.Variant.Of(v)));
            arrays.Add(Arrays(inner));
            arrays.Add(Arrays(DataValues(inner)));
        }

        return Gen.OneOf(Gen.OneOf([.. scalars]), Gen.OneOf([.. arrays]));
    }

    private static Gen<Variant> Arrays<T>(Gen<T> element) => Gen.OneOf(
        element.Array[0, 5].Select(a => WashBridge.Protocols.OpcUa.Variant.ArrayOf(a)),
        element.Array[6].Select(a => WashBridge.Protocols.OpcUa.Variant.ArrayOf(a, [2, 3])));
}
