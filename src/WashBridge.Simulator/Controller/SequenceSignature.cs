namespace WashBridge.Simulator.Controller;

/// <summary>What the signals of the sequence, kegs, drain sensors and outputs follow from.</summary>
/// <param name="Bits">Outputs, kegs, sensors, dosing and heaters.</param>
/// <param name="Mode">Of the controller.</param>
/// <param name="StepCode">As the controller shows it.</param>
/// <param name="Programme">Its number.</param>
/// <param name="CycleCount">The controller's counter.</param>
internal readonly record struct SequenceSignature(ulong Bits, ControllerMode Mode, int StepCode, int Programme, long CycleCount);
