namespace WashBridge.Commands;

/// <summary>What the program's exit codes mean, for scripts and service managers.</summary>
internal static class ExitCodes
{
    /// <summary>All that was asked for was done.</summary>
    public const int Success = 0;

    /// <summary>The command line or the configuration is wrong: the message says where and what is allowed.</summary>
    public const int ConfigurationErrors = 1;

    /// <summary>A controller could not be reached, or did not give what the tag map asks it for.</summary>
    public const int DeviceErrors = 2;
}
