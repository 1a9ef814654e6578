using System.Globalization;
using System.Text.Json.Nodes;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>Values as the JSON that the peers use for them: the form is described in tests/peers/opcua/plain.mjs.</summary>
internal static class PlainValues
{
    private static readonly long Epoch = new DateTime(1601, 1, 1, 0, 0, 0, DateTimeKind.Utc).Ticks;

    public static JsonNode? Of(object? value) => value switch
    {
        null => null,
        bool flag => JsonValue.Create(flag),
        sbyte number => JsonValue.Create(number),
        byte number => JsonValue.Create(number),
        short number => JsonValue.Create(number),
        ushort number => JsonValue.Create(number),
        int number => JsonValue.Create(number),
        uint number => JsonValue.Create(number),
        long number => JsonValue.Create(number.ToString(CultureInfo.InvariantCulture)),
        ulong number => JsonValue.Create(number.ToString(CultureInfo.InvariantCulture)),
        float number => Of((double)number),
        double number => OfDouble(number),
        string text => JsonValue.Create(text),
        DateTime time => JsonValue.Create((time.Ticks - Epoch).ToString(CultureInfo.InvariantCulture)),
        Guid guid => JsonValue.Create(guid.ToString().ToUpperInvariant()),
        byte[] bytes => JsonValue.Create(Convert.ToHexStringLower(bytes)),
        XmlElement xml => JsonValue.Create(xml.Xml),
        NodeId node => OfNode(node),
        ExpandedNodeId node => OfNode(node),
        StatusCode status => JsonValue.Create(status.Value),
        QualifiedName name => new JsonObject { ["ns"] = name.Namespace, ["name"] = name.Name },
        LocalizedText text => new JsonObject { ["locale"] = text.Locale, ["text"] = text.Text },
        ExtensionObject structure => structure.Bytes is null ? null : new JsonObject { ["type"] = OfNode(structure.EncodingId), ["body"] = Of(structure.Bytes) },
        DataValue inner => OfDataValue(inner),
        Variant variant => OfVariant(variant),
        DiagnosticInfo diagnostic => OfDiagnostic(diagnostic),
        _ => throw new ArgumentException($"no plain form of {value.GetType()}", nameof(value)),
    };

    private static JsonNode OfDouble(double number) =>
        double.IsFinite(number) && !(number == 0 && double.IsNegative(number)) ? JsonValue.Create(number) : JsonValue.Create(number switch
        {
            double.NaN => "NaN",
            double.PositiveInfinity => "Infinity",
            double.NegativeInfinity => "-Infinity",
            _ => "-0",
        });

    private static JsonObject OfNode(NodeId node)
    {
        var plain = new JsonObject { ["ns"] = node.Namespace };
        switch (node.Kind)
        {
            case IdentifierType.Numeric:
                plain["i"] = node.Number;
                break;
            case IdentifierType.String:
                plain["s"] = node.Text;
                break;
            case IdentifierType.Guid:
                plain["g"] = Of(node.Guid);
                break;
            default:
                plain["b"] = Of(node.Opaque.ToArray());
                break;
        }

        return plain;
    }

    private static JsonObject OfNode(ExpandedNodeId node)
    {
        var plain = OfNode(node.Node);
        if (node.NamespaceUri is not null)
        {
            plain["uri"] = node.NamespaceUri;
        }

        if (node.ServerIndex != 0)
        {
            plain["server"] = node.ServerIndex;
        }

        return plain;
    }

    private static JsonObject? OfVariant(Variant variant)
    {
        if (variant.IsNull)
        {
            return null;
        }

        var plain = new JsonObject { ["type"] = variant.Type.ToString() };
        if (!variant.IsArray)
        {
            plain["value"] = Of(variant.Value);
            return plain;
        }

        plain["array"] = new JsonArray([.. variant.Elements!.Cast<object?>().Select(Of)]);
        if (variant.Dimensions is { } dimensions)
        {
            plain["dimensions"] = new JsonArray([.. dimensions.Select(length => (JsonNode)length)]);
        }

        return plain;
    }

    private static JsonObject OfDataValue(DataValue value)
    {
        var plain = new JsonObject();
        Set(plain, "value", OfVariant(value.Value));
        Set(plain, "status", value.Status.Value == 0 ? null : Of(value.Status));
        Set(plain, "source", Of(value.SourceTimestamp));
        Set(plain, "sourcePico", value.SourcePicoseconds == 0 ? null : Of(value.SourcePicoseconds));
        Set(plain, "server", Of(value.ServerTimestamp));
        Set(plain, "serverPico", value.ServerPicoseconds == 0 ? null : Of(value.ServerPicoseconds));
        return plain;
    }

    private static JsonObject OfDiagnostic(DiagnosticInfo value)
    {
        var plain = new JsonObject();
        Set(plain, "symbolicId", Of(value.SymbolicId));
        Set(plain, "namespaceUri", Of(value.NamespaceUri));
        Set(plain, "locale", Of(value.Locale));
        Set(plain, "localizedText", Of(value.LocalizedText));
        Set(plain, "additionalInfo", Of(value.AdditionalInfo));
        Set(plain, "innerStatusCode", Of(value.InnerStatusCode));
        Set(plain, "inner", Of(value.Inner));
        return plain;
    }

    private static void Set(JsonObject plain, string name, JsonNode? value)
    {
        if (value is not null)
        {
            plain[name] = value;
        }
    }
}
