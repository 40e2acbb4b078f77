using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Fitting;

/// <summary>When fits are made and when a new one may take over. Section <c>Fitting</c>.</summary>
internal sealed class FittingOptions
{
    /// <summary>Local time of day of the nightly fit. 00:00 to 23:59 inclusive; 03:10 unless set, when the ground tells least.</summary>
    [Range(typeof(TimeSpan), "00:00:00", "23:59:00")]
    public TimeSpan NightlyAt { get; set; } = new(3, 10, 0);

    /// <summary>[days] How many last days a new fit is held against the one in use. 1 to 14; 5 unless set.</summary>
    [Range(1, 14)]
    public int ComparedDays { get; set; } = 5;

    /// <summary>[K] How much worse than the one in use a new fit may be on the middle one of those days. 0 to 5; 0.1 unless set: below what a day's weather changes.</summary>
    [Range(0.0, 5.0)]
    public double ToleranceKelvin { get; set; } = 0.1;
}

[OptionsValidator]
internal sealed partial class FittingOptionsValidator : IValidateOptions<FittingOptions>;
