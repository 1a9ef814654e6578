using System.CommandLine;
using WashBridge.Commands;
using WashBridge.Historian;

var parsed = CommandLine.Create(TimeProvider.System, Console.In).Parse(args);

try
{
    // Stopping commits what was read and saves what was learnt: give it the time it needs after Ctrl-C or SIGTERM. The unit allows a minute.
    return await parsed.InvokeAsync(new InvocationConfiguration
    {
        ProcessTerminationTimeout = TimeSpan.FromSeconds(50),
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
