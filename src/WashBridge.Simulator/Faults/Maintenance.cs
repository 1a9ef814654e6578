namespace WashBridge.Simulator.Faults;

/// <summary>A person makes a part as good as new.</summary>
public abstract record Maintenance : Fault
{
    /// <summary>What wore it has been put right too; otherwise it begins to wear anew in the same way.</summary>
    public bool ForGood { get; init; }
}

/// <summary>The opening of a station's drain valve is free again.</summary>
public sealed record DrainCleaned : Maintenance
{
    /// <summary>1 to 8; 0: all.</summary>
    public int Station { get; init; }
}

public sealed record DrainSensorReplaced : Maintenance
{
    /// <summary>1 to 8; 0: all, or the shared one.</summary>
    public int Station { get; init; }
}

public sealed record PumpReplaced : Maintenance;

/// <summary>The control air is as it should be.</summary>
public sealed record AirRestored : Maintenance;

public sealed record Co2BottleChanged : Maintenance;

public sealed record DosingTubeReplaced : Maintenance
{
    public required BathKind Bath { get; init; }
}

public sealed record DosingCheckValveReplaced : Maintenance
{
    public required BathKind Bath { get; init; }
}

public sealed record HeaterDescaled : Maintenance
{
    public required BathKind Bath { get; init; }
}

/// <summary>A bath is emptied and filled anew, as strong and as hot as it should be.</summary>
public sealed record BathRenewed : Maintenance
{
    public required BathKind Bath { get; init; }
}
