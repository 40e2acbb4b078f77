using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Sensors;

namespace PavementWatch.Gateway.Sampling;

/// <summary>
/// Turns samples into readings. Driven from outside: the worker calls <see cref="Step"/> every
/// <see cref="SamplingOptions.Period"/> with the moment, and puts what comes back into the outbox.
/// </summary>
internal interface ISampling
{
    /// <summary>The samples of the latest step, for <c>gateway read</c>, <c>gateway check</c> and the lamp.</summary>
    IReadOnlyList<ProbeSample> LatestSamples { get; }

    /// <summary>Asks every probe once, and closes what is due.</summary>
    /// <param name="now">The moment, UTC.</param>
    /// <returns>
    /// Readings that became due, in order of time: each spot's once its interval is over, and one in between when a
    /// spot passes its limit. Empty most of the time. For one spot the times only ever rise.
    /// </returns>
    IReadOnlyList<Reading> Step(DateTimeOffset now);
}
