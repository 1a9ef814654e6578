namespace WashBridge.Commands;

/// <summary>What the program's exit code says. Scripts rely on these: they never change meaning.</summary>
internal static class ExitCodes
{
    public const int Success = 0;

    /// <summary>The command line or the configuration is wrong: the message says where and what is allowed.</summary>
    public const int ConfigurationErrors = 1;

    /// <summary>A washer could not be reached or not be read as mapped.</summary>
    public const int DeviceErrors = 2;

    /// <summary>The historian could not be opened or written.</summary>
    public const int StoreErrors = 3;

    /// <summary>Something failed that should not; the log says what.</summary>
    public const int Failure = 4;
}
