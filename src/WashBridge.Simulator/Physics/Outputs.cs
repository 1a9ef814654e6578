namespace WashBridge.Simulator.Physics;

/// <summary>What the controller switches: valves, pumps, heaters.</summary>
[Flags]
internal enum Outputs
{
    None = 0,
    Water = 1 << 0,
    Caustic = 1 << 1,
    Acid = 1 << 2,
    Sanitiser = 1 << 3,
    Steam = 1 << 4,
    Air = 1 << 5,
    Co2 = 1 << 6,
    Drain = 1 << 7,
    Vent = 1 << 8,
    WallSpray = 1 << 9,
    SpearRinse = 1 << 10,
    SprayPump = 1 << 11,
    ReturnCaustic = 1 << 12,
    ReturnAcid = 1 << 13,
    ReturnSanitiser = 1 << 14,

    AnySpray = WallSpray | SpearRinse,
}
