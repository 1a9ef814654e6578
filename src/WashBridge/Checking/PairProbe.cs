using WashBridge.Configuration;
using WashBridge.Pairing;

namespace WashBridge.Checking;

/// <param name="Pair">Which.</param>
/// <param name="Answer">Null: it gave none.</param>
/// <param name="Failure">What keeps the two from being a pair; null: nothing.</param>
internal sealed record PairCheck(PairConfiguration Pair, PairAnswer? Answer, string? Failure);

/// <summary>Asks the other bridge of a pair how it stands, as the service would.</summary>
internal static class PairProbe
{
    public static async Task<PairCheck> ProbeAsync(PairConfiguration pair, Site site, TimeProvider time, CancellationToken cancellation)
    {
        using var partner = new HttpPartner(pair, time);
        try
        {
            var answer = await partner.AskAsync(0, 0, TimeSpan.Zero, cancellation);
            return new PairCheck(pair, answer, answer.Page.Mismatch(site));
        }
        catch (PartnerException silent)
        {
            return new PairCheck(pair, null, silent.Message);
        }
    }
}
