using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.Tests.OpcUa;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>One random scalar, array and matrix of every built-in type, the same each time.</summary>
internal sealed class ServedValues
{
    public IEnumerable<(string Name, Variant Value)> All
    {
        get
        {
            var random = new RandomValues(20_260_301);
            HashSet<string> found = [];
            while (found.Count < 60)
            {
                var value = random.Variant(depth: 2);
                var name = $"{(value.Dimensions is not null ? "Matrix" : value.IsArray ? "Array" : "Scalar")}.{value.Type}";
                if (!value.IsNull && value.Elements is not { Length: 0 } && found.Add(name))
                {
                    yield return (name, value);
                }
            }
        }
    }
}
