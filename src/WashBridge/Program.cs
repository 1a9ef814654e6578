using System.CommandLine;
using WashBridge.Commands;
using WashBridge.Historian;

var parsed = CommandLine.Create(TimeProvider.System, Console.In).Parse(args);

try
{
    // Stopping commits what was read: give it the time it needs after Ctrl-C or SIGTERM.
    return await parsed.InvokeAsync(new InvocationConfiguration
    {
        ProcessTerminationTimeout = TimeSpan.FromSeconds(30),
        EnableDefaultExceptionHandler = false,
    });
}
catch (OperationCanceledException)
{
    return ExitCodes.Failure;
}
catch (HistorianException failure)
{
    Console.Error.WriteLine(StoreAdvice.For(failure));
    return ExitCodes.StoreErrors;
}
