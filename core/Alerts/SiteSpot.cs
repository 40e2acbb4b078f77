using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Alerts;

/// <summary>A spot of a site as it is now.</summary>
/// <param name="Spot">The spot.</param>
/// <param name="Standing">What stands there, the heat first; nothing where nothing does.</param>
/// <param name="Word">The word for its ground.</param>
/// <param name="Estimated">Whether the word rests on an estimate.</param>
public sealed record SiteSpot(SpotId Spot, IReadOnlyList<StandingAlert> Standing, GroundWord Word, bool Estimated);
