using System.CommandLine;
using WashBridge.Commands;
using WashBridge.Historian;

var root = new RootCommand("WashBridge reads keg washers, keeps the evidence, and judges every keg against its recipe. It only ever reads.")
{
    DemoCommand.Create(),
    CheckCommand.Create(TimeProvider.System),
    RunCommand.Create(),
    ReportCommand.Create(),
    AnalyseCommand.Create(),
    SamplingCommand.Create(TimeProvider.System),
    RecipesCommand.Create(TimeProvider.System),
    RejudgeCommand.Create(TimeProvider.System),
    ReplayCommand.Create(),
    ForwardCommand.Create(TimeProvider.System),
    KegCommand.Create(TimeProvider.System),
    InspectCommand.Create(TimeProvider.System),
    BathCommand.Create(TimeProvider.System),
    MaintainCommand.Create(TimeProvider.System),
    AlarmCommand.Create(TimeProvider.System),
    RecordsCommand.Create(TimeProvider.System),
    VerifyCommand.Create(),
    HealthCommand.Create(TimeProvider.System),
    ImportTagsCommand.Create(),
    BrowseCommand.Create(TimeProvider.System),
    CertificatesCommand.Create(TimeProvider.System),
    PasswordHashCommand.Create(Console.In),
    UsersCommand.Create(Console.In, TimeProvider.System),
    TokensCommand.Create(TimeProvider.System),
};

var parsed = root.Parse(args);

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
