using Microsoft.AspNetCore.Http.HttpResults;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Server.Access;

namespace PavementWatch.Server.Api;

/// <summary>How far a backtest is, and its report.</summary>
internal static class BacktestsApi
{
    public static void MapBacktests(this IEndpointRouteBuilder routes)
    {
        var api = routes.MapGroup("/api/backtests").WithTags("Backtests").RequireAuthorization(Policies.Analysts);
        api.MapGet("/{id:guid}", Results<Ok<BacktestProgress>, NotFound> (Guid id, IBacktests backtests) =>
            backtests.Find(id) is { } run
                ? TypedResults.Ok(new BacktestProgress(run.Begun, run.DoneFraction, run.Ended, run.Fault))
                : TypedResults.NotFound());
        api.MapGet("/{id:guid}/report.json", Results<FileContentHttpResult, NotFound> (Guid id, IBacktests backtests) =>
            backtests.Find(id)?.Report is { } report
                ? TypedResults.File(System.Text.Encoding.UTF8.GetBytes(report.ToJson()), "application/json", $"backtest-{id:N}.json")
                : TypedResults.NotFound());
    }

    /// <param name="Begun">Whether it has begun; before, it waits for another one to end.</param>
    /// <param name="DoneFraction">[fraction] 0 to 1.</param>
    /// <param name="Ended">Whether there is nothing more to wait for.</param>
    /// <param name="Fault">Why it failed; empty when it did not.</param>
    internal sealed record BacktestProgress(bool Begun, double DoneFraction, bool Ended, string Fault);
}
