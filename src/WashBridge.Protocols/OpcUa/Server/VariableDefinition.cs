using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// What a variable holds (OPC 10000-3, 5.6.2). With <see cref="Range"/> it is an AnalogItemType, with <see cref="Unit"/> alone an
/// AnalogUnitType, with <see cref="States"/> a discrete item (OPC 10000-8, 5.3.2 and 5.3.3), else a BaseDataVariableType.
/// </summary>
/// <param name="Type">Every value set later is of this type, or null.</param>
public sealed record VariableDefinition(BuiltInType Type)
{
    /// <summary>A narrower type than <see cref="Type"/>, such as Duration (<c>i=290</c>). Null: the built-in type's own.</summary>
    public NodeId? DataType { get; init; }

    /// <summary>-1: one value (the default); 1: an array; 2 or more: a matrix of that many dimensions (OPC 10000-3, 5.6.2).</summary>
    public int ValueRank { get; init; } = -1;

    /// <summary>The greatest length of every dimension, 0: not limited; null: not told. As many as <see cref="ValueRank"/>.</summary>
    public IReadOnlyList<uint>? ArrayDimensions { get; init; }

    /// <summary>Null: the name.</summary>
    public string? DisplayName { get; init; }

    /// <summary>Null: none.</summary>
    public string? Description { get; init; }

    /// <summary>How often the value can change at most; told to clients, which may still sample faster. Zero: as it comes.</summary>
    public TimeSpan MinimumSamplingInterval { get; init; }

    /// <summary>The value until one is set. Null: BadWaitingForInitialData.</summary>
    public Variant InitialValue { get; init; }

    /// <summary>EngineeringUnits (OPC 10000-8, 5.6.3); see <see cref="Units"/>. Numeric types only.</summary>
    public EUInformation? Unit { get; init; }

    /// <summary>EURange: what the value is normally between (OPC 10000-8, 5.6.2). Needed for percent dead bands. Numeric types only.</summary>
    public EURange? Range { get; init; }

    /// <summary>
    /// Names of states: of false and true, in this order, for a Boolean; of 0, 1, 2 ... for an unsigned integer. Null: not a discrete item.
    /// </summary>
    public IReadOnlyList<string>? States { get; init; }

    internal bool IsNumeric => Type is >= BuiltInType.SByte and <= BuiltInType.Double;

    /// <exception cref="ArgumentException">Parts that do not go together.</exception>
    internal void Validate()
    {
        if (Type is BuiltInType.Null or > BuiltInType.DiagnosticInfo)
        {
            throw new ArgumentException($"a variable of type {Type}; allowed: 1 to 25");
        }

        if (ValueRank is < -3 or > 16)
        {
            throw new ArgumentException($"value rank {ValueRank}; allowed: -3 to 16");
        }

        if (ArrayDimensions is { } dimensions && dimensions.Count != ValueRank)
        {
            throw new ArgumentException($"{dimensions.Count} array dimensions with value rank {ValueRank}; both must be the same");
        }

        if ((Unit ?? (object?)Range) is not null && !IsNumeric)
        {
            throw new ArgumentException($"a unit or range with type {Type}; allowed: numbers");
        }

        if (Range is { } range && !(range.Low < range.High))
        {
            throw new ArgumentException($"range {range.Low} to {range.High}; the lower end must be below the upper");
        }

        if (States is not null && !(Type == BuiltInType.Boolean ? States.Count == 2 : Type is BuiltInType.Byte or BuiltInType.UInt16 or BuiltInType.UInt32))
        {
            throw new ArgumentException($"{States.Count} states with type {Type}; allowed: 2 with Boolean, any number with Byte, UInt16 and UInt32");
        }

        if (States is not null && (Unit ?? (object?)Range) is not null)
        {
            throw new ArgumentException("states and a unit or range; allowed: one of them");
        }
    }
}
