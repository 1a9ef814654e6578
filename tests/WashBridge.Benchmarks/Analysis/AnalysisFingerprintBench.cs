using System.Security.Cryptography;
using System.Text;
using WashBridge.Analysis;
using WashBridge.Benchmarks.Analysis.Years;
using WashBridge.Core;

namespace WashBridge.Benchmarks.Analysis;

/// <summary>Whether two builds of the analysis find the same, to the byte: run it with each and compare what it prints.</summary>
internal sealed class AnalysisFingerprintBench : IBench
{
    public string Name => "analysis-fingerprint";

    public string What => "hash of all findings and of the last snapshot of simulated washer-years: FOLDER [FIRST-SEED LAST-SEED]";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var (folder, first, last) = (arguments[0], arguments.Length > 1 ? int.Parse(arguments[1]) : 0, arguments.Length > 2 ? int.Parse(arguments[2]) : int.MaxValue);
        foreach (var seed in YearFiles.Seeds(folder).Where(s => s >= first && s <= last))
        {
            var analysis = AnalysisFactory.Create(YearSettings.Of(YearFiles.ReadTruth(folder, seed)));
            using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
            var findings = 0;
            foreach (var washEvent in YearFiles.ReadEvents(folder, seed))
            {
                cancellation.ThrowIfCancellationRequested();
                foreach (var finding in analysis.Accept(washEvent))
                {
                    findings++;
                    hash.AppendData(Encoding.UTF8.GetBytes(WashJson.Write(finding)));
                }
            }

            Console.WriteLine($"{seed:0000}: {findings} findings {Convert.ToHexString(hash.GetCurrentHash())}, snapshot {Convert.ToHexString(SHA256.HashData(Encoding.UTF8.GetBytes(analysis.Snapshot())))}");
        }

        return Task.CompletedTask;
    }
}
