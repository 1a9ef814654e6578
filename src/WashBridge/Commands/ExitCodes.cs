namespace WashBridge.Commands;

/// <summary>What the program's exit code says. Scripts rely on these: they never change meaning.</summary>
internal static class ExitCodes
{
    public const int Success = 0;

    /// <summary>The configuration has mistakes; all were printed.</summary>
    public const int ConfigurationErrors = 1;

    /// <summary>A washer could not be reached or not be read as mapped.</summary>
    public const int DeviceErrors = 2;

    /// <summary>The command was not used as its help says.</summary>
    public const int Usage = 3;

    /// <summary>The historian could not be opened or written.</summary>
    public const int StoreErrors = 4;

    /// <summary>Something failed that should not; the log says what.</summary>
    public const int Failure = 5;
}
