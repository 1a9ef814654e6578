using WashBridge.Simulator.Physics;

namespace WashBridge.Simulator.Truth;

/// <summary>How worn everything really was when a cycle ended.</summary>
public sealed record TrueHealth
{
    public required IReadOnlyList<TrueStationHealth> Stations { get; init; }

    public required IReadOnlyList<TrueBathHealth> Baths { get; init; }

    /// <summary>Share of the spray pump's speed that is lost, 0 to 0.9.</summary>
    public required double PumpWear { get; init; }

    /// <summary>CO2 supply at rest, bar absolute, without the regulator's wandering.</summary>
    public required double Co2Bar { get; init; }

    /// <summary>Control air, bar absolute, without its wandering.</summary>
    public required double AirBar { get; init; }

    /// <summary>What helps a keg to drain at that air pressure, bar absolute.</summary>
    public required double AssistBar { get; init; }

    /// <summary>Water main, bar absolute, without its wandering.</summary>
    public required double WaterBar { get; init; }

    internal static TrueHealth Of(Plant plant) => new()
    {
        Stations = [.. Enumerable.Range(0, plant.Kegs.Length).Select(i => new TrueStationHealth(
            i + 1,
            plant.DrainValve(i).Clogging,
            plant.Sensors[plant.Sensors.Count == 1 ? 0 : i].StickingSeconds))],
        Baths = [.. plant.Baths.Select(b => new TrueBathHealth(
            b.Kind,
            b.DosingShare * (1 - b.TubeWear),
            b.CheckValveLeak,
            b.HeaterWorks ? b.HeaterShare : 0,
            b.StrengthPercent,
            b.Cel))],
        PumpWear = plant.Pump.Wear,
        Co2Bar = plant.Co2SupplyBar,
        AirBar = plant.AirSupplyBar,
        AssistBar = plant.AssistBar,
        WaterBar = plant.WaterStaticBar,
    };
}

/// <param name="Station">1 to 8.</param>
/// <param name="Clogging">Share of the drain valve's opening that is lost, 0 to 1.</param>
/// <param name="StickingSeconds">Mean time for which the drain sensor reads wet after the last drop.</param>
public sealed record TrueStationHealth(int Station, double Clogging, double StickingSeconds);

/// <param name="Bath">Which.</param>
/// <param name="DosingShare">Share of what the dosing pump should deliver, 0 to 1.</param>
/// <param name="CheckValveLeak">Share of the dosing line that drains back in 1,000 s.</param>
/// <param name="HeaterShare">Share of the heater's power, 0 to 1.</param>
/// <param name="StrengthPercent">% by mass.</param>
/// <param name="Cel">Temperature.</param>
public sealed record TrueBathHealth(Faults.BathKind Bath, double DosingShare, double CheckValveLeak, double HeaterShare, double StrengthPercent, double Cel);
