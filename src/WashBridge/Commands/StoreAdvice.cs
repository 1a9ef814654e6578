using WashBridge.Historian;

namespace WashBridge.Commands;

/// <summary>What is wrong with a store, and what to do where that is not plain.</summary>
internal static class StoreAdvice
{
    public static string For(HistorianException failure) => failure.Fault == HistorianFault.OlderVersion
        ? $"{failure.Message}.\nKeep a copy, which an older program can still read; then: washbridge verify {failure.Path} --upgrade"
        : failure.Message;
}
