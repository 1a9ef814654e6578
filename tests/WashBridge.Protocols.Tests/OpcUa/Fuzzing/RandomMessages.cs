using System.Reflection;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>Valid messages with random fields, made through their constructors.</summary>
internal sealed class RandomMessages(Random random)
{
    private const int MostKnown = 40;

    private readonly RandomValues values = new(random.Next());
    private readonly Dictionary<string, List<object>> known = [];

    /// <summary>Most fields of this name, or lists of that name in the plural, will have one of the values known, so that messages refer to what is there.</summary>
    public void Know(string field, object value)
    {
        if (!known.TryGetValue(field, out var list))
        {
            known[field] = list = [];
        }

        if (list.Count == MostKnown)
        {
            list.RemoveAt(random.Next(MostKnown));
        }

        list.Add(value);
    }

    public IStructure Make(MessageKind kind) => (IStructure)Make(kind.Type, "", 0)!;

    private object? Make(Type type, string name, int depth)
    {
        if (Nullable.GetUnderlyingType(type) is { } underlying)
        {
            return random.Next(2) == 0 ? null : Make(underlying, name, depth);
        }

        if (known.TryGetValue(name, out var list) && list[0].GetType() == type && random.Next(4) > 0)
        {
            return list[random.Next(list.Count)];
        }

        if (type.IsEnum)
        {
            var known = Enum.GetValues(type);
            return known.GetValue(random.Next(known.Length));
        }

        if (Builtin(type) is { } builtin)
        {
            return values.Value(builtin);
        }

        if (type == typeof(IReadOnlyList<string>))
        {
            return Enumerable.Range(0, random.Next(4)).Select(_ => (string)values.Value(BuiltInType.String)).ToArray();
        }

        if (type.IsGenericType && type.GetGenericTypeDefinition() == typeof(IReadOnlyList<>))
        {
            return MakeList(type.GetGenericArguments()[0], name.TrimEnd('s'), depth);
        }

        if (type.IsAbstract)
        {
            Type[] kinds = [.. type.Assembly.GetTypes().Where(t => !t.IsAbstract && t.IsAssignableTo(type))];
            return Make(kinds[random.Next(kinds.Length)], name, depth);
        }

        var constructor = type.GetConstructors(BindingFlags.Public | BindingFlags.NonPublic | BindingFlags.Instance)
            .Where(c => !(c.GetParameters() is [var only] && only.ParameterType == type))
            .MaxBy(c => c.GetParameters().Length);
        return constructor is null ? Activator.CreateInstance(type) : constructor.Invoke([.. constructor.GetParameters().Select(p => Make(p.ParameterType, p.Name!, depth + 1))]);
    }

    private Array MakeList(Type element, string name, int depth)
    {
        var list = Array.CreateInstance(element, depth > 4 ? 0 : random.Next(4));
        for (var i = 0; i < list.Length; i++)
        {
            list.SetValue(Make(element, name, depth + 1), i);
        }

        return list;
    }

    private static BuiltInType? Builtin(Type type) => type switch
    {
        _ when type == typeof(bool) => BuiltInType.Boolean,
        _ when type == typeof(byte) => BuiltInType.Byte,
        _ when type == typeof(sbyte) => BuiltInType.SByte,
        _ when type == typeof(short) => BuiltInType.Int16,
        _ when type == typeof(ushort) => BuiltInType.UInt16,
        _ when type == typeof(int) => BuiltInType.Int32,
        _ when type == typeof(uint) => BuiltInType.UInt32,
        _ when type == typeof(long) => BuiltInType.Int64,
        _ when type == typeof(ulong) => BuiltInType.UInt64,
        _ when type == typeof(float) => BuiltInType.Float,
        _ when type == typeof(double) => BuiltInType.Double,
        _ when type == typeof(string) => BuiltInType.String,
        _ when type == typeof(DateTime) => BuiltInType.DateTime,
        _ when type == typeof(Guid) => BuiltInType.Guid,
        _ when type == typeof(byte[]) => BuiltInType.ByteString,
        _ when type == typeof(XmlElement) => BuiltInType.XmlElement,
        _ when type == typeof(NodeId) => BuiltInType.NodeId,
        _ when type == typeof(ExpandedNodeId) => BuiltInType.ExpandedNodeId,
        _ when type == typeof(StatusCode) => BuiltInType.StatusCode,
        _ when type == typeof(QualifiedName) => BuiltInType.QualifiedName,
        _ when type == typeof(LocalizedText) => BuiltInType.LocalizedText,
        _ when type == typeof(ExtensionObject) => BuiltInType.ExtensionObject,
        _ when type == typeof(DataValue) => BuiltInType.DataValue,
        _ when type == typeof(Variant) => BuiltInType.Variant,
        _ when type == typeof(DiagnosticInfo) => BuiltInType.DiagnosticInfo,
        _ => null,
    };
}
