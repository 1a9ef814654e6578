using WashBridge.Simulator.Faults;

namespace WashBridge.Simulator.Physics;

/// <summary>One bath.</summary>
/// <param name="Kind">What is in it.</param>
/// <param name="Litres">Content when full, 10 to 2,000.</param>
/// <param name="Percent">Strength aimed at, % by mass.</param>
/// <param name="Cel">Temperature aimed at; at or below the room's the bath is not heated.</param>
/// <param name="HeaterKilowatts">Of the heater, 0: none.</param>
/// <param name="AutomaticDosing">The controller doses by conductivity; otherwise strength only falls.</param>
public sealed record BathOptions(BathKind Kind, double Litres, double Percent, double Cel, double HeaterKilowatts, bool AutomaticDosing);

/// <summary>The machine's dimensions. Pressures are absolute.</summary>
public sealed record PlantOptions
{
    public IReadOnlyList<BathOptions> Baths { get; init; } =
    [
        new(BathKind.Caustic, 90, 2.0, 70, 9, true),
        new(BathKind.Acid, 60, 0.8, 20, 0, true),
        new(BathKind.Sanitiser, 60, 1.0, 20, 0, true),
    ];

    /// <summary>5 to 60 L.</summary>
    public double KegLitres { get; init; } = 30;

    public double WaterBar { get; init; } = 4.0;

    public double WaterCel { get; init; } = 14;

    public double RoomCel { get; init; } = 19;

    /// <summary>In which the room is warmest and coldest once; shorter where a simulation leaves out the nights.</summary>
    public TimeSpan Day { get; init; } = TimeSpan.FromHours(24);

    public double Co2Bar { get; init; } = 3.2;

    /// <summary>Oxygen in the CO2, volume fraction.</summary>
    public double OxygenInCo2 { get; init; } = 0.00002;

    public double AirBar { get; init; } = 7.0;

    /// <summary>What the regulator lets onto the keg while it drains.</summary>
    public double DrainAssistBar { get; init; } = 1.35;

    /// <summary>Pressure of the saturated steam, where there is any.</summary>
    public double SteamBar { get; init; } = 2.2;

    /// <summary>Pump pressure against a closed valve, above the atmosphere's.</summary>
    public double PumpShutoffBar { get; init; } = 3.2;

    /// <summary>Scale of all that varies without anything being wrong: sensors' noise, kegs, valve strokes, regulators, room, mains; 0: none.</summary>
    public double Noise { get; init; } = 1;
}

/// <summary>What cannot be chosen.</summary>
internal static class Nature
{
    public const double AtmosphereBar = 1.01325;
    public const double OxygenInAir = 0.2095;
    public const double Gravity = 9.81;

    /// <summary>Heat to warm a litre of water-like liquid by a kelvin, kJ.</summary>
    public const double LiquidHeat = 4.18;

    /// <summary>Rounding a first-order lag over a step that need not be short.</summary>
    public static double Approach(double seconds, double timeConstant) => 1 - Math.Exp(-seconds / timeConstant);
}
