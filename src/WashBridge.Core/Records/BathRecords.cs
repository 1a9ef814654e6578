using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;

namespace WashBridge.Core.Records;

/// <summary>The strength of a bath was titrated. <see cref="WashEvent.At"/> is when the sample was taken.</summary>
public sealed record TitrationRecorded : WashEvent, IRecord
{
    public required Act Act { get; init; }

    /// <summary><c>caustic</c>, <c>acid</c> or <c>sanitiser</c>.</summary>
    public required string Bath { get; init; }

    public required double Strength { get; init; }

    /// <summary>Unit of the strength, such as <c>%</c> (mass fraction).</summary>
    public required string Unit { get; init; }

    /// <summary>How it was measured.</summary>
    public string Method { get; init; } = "";
}

/// <summary>A bath was emptied and made up anew.</summary>
public sealed record BathChanged : WashEvent, IRecord
{
    public required Act Act { get; init; }

    /// <summary><c>caustic</c>, <c>acid</c> or <c>sanitiser</c>.</summary>
    public required string Bath { get; init; }

    /// <summary>The same as work on a component: forecasts begin anew from it.</summary>
    public MaintenanceRecorded AsMaintenance() => new()
    {
        Id = Id,
        Washer = Washer,
        At = At,
        Component = new Component(ComponentKind.Bath, Bath),
        Work = MaintenanceKind.Replaced,
        By = Act.By,
        Note = Act.Reason,
    };
}
