using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Core.Offsets;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Fitting;

/// <summary>Where a fit stands.</summary>
internal enum FitStanding
{
    /// <summary>Did worse than the one in use on the last days; the analyst decides.</summary>
    Waiting = 0,

    /// <summary>The one the watch uses; one a spot.</summary>
    InUse,

    /// <summary>Was in use until a newer one took over.</summary>
    Replaced,

    /// <summary>The analyst said no.</summary>
    Refused,

    /// <summary>Not to be used again, by nobody's choice: what it was made for is no more, or another edition of the program wrote it and this one cannot read it.</summary>
    Retired,
}

/// <summary>A fit, never changed after it is written but for where it stands and why. Its figures stand beside it, so that lists and plots need not read it.</summary>
internal sealed class FitRow
{
    /// <summary>The reason for which fits of a spot whose ground or place was changed are retired, at the moment of the change.</summary>
    public const string OtherGround = "made before the spot's ground or place was changed";

    public required string Id { get; init; }

    public required string SpotId { get; init; }

    public required DateTimeOffset FittedAt { get; init; }

    public required FitStanding Standing { get; set; }

    /// <summary>Why it stands there: what its review found (<see cref="Dashboards.Texts.FitReasonTexts"/>) or, where somebody or something else decided, a sentence.</summary>
    public required string Reason { get; set; }

    public required DateTimeOffset DecidedAt { get; set; }

    /// <summary>By which <see cref="FitJson.Format"/> the figures were read from <see cref="Json"/>; another one: not yet by this edition of the program.</summary>
    public int Format { get; set; }

    /// <summary>How many steps it rests on; <c>null</c> when the fit cannot be read, and then there are no other figures either.</summary>
    public int? SampleCount { get; set; }

    /// <summary>End of the first step it rests on or, where it does not say, the begin of its window.</summary>
    public DateTimeOffset? LearnedFrom { get; set; }

    /// <summary>End of the last step it rests on, likewise.</summary>
    public DateTimeOffset? LearnedTo { get; set; }

    /// <summary>[K] Mean of surface minus air.</summary>
    public double? MeanOffsetKelvin { get; set; }

    /// <summary>[K] Robust spread of its errors.</summary>
    public double? ResidualScaleKelvin { get; set; }

    /// <summary>[%] Readings inside the 90 % interval given before; <c>null</c> also when there were too few days.</summary>
    public double? IntervalCoveragePercent { get; set; }

    /// <summary>The whole <c>OffsetFit</c>.</summary>
    public required string Json { get; init; }

    /// <summary>A new fit.</summary>
    public static FitRow Of(OffsetFit fit, FitStanding standing, string reason, DateTimeOffset decidedAt)
    {
        var row = new FitRow
        {
            Id = fit.Id,
            SpotId = fit.SpotName,
            FittedAt = fit.FittedAt,
            Standing = standing,
            Reason = reason,
            DecidedAt = decidedAt,
            Json = FitJson.Write(fit),
        };
        row.TakeFigures(fit);
        return row;
    }

    /// <summary>Takes the figures of the fit as this edition of the program reads it.</summary>
    /// <param name="fit">The fit; <c>null</c> when it cannot be read.</param>
    public void TakeFigures(OffsetFit? fit)
    {
        Format = FitJson.Format;
        SampleCount = fit?.SampleCount;
        LearnedFrom = fit is null ? null : fit.FirstSampleAt ?? fit.WindowFrom;
        LearnedTo = fit is null ? null : fit.LastSampleAt ?? fit.WindowTo;
        MeanOffsetKelvin = fit?.MeanOffsetKelvin;
        ResidualScaleKelvin = fit?.ResidualScaleKelvin;
        IntervalCoveragePercent = fit?.IntervalCoveragePercent;
    }
}

internal sealed class FitRowConfiguration : IEntityTypeConfiguration<FitRow>
{
    public void Configure(EntityTypeBuilder<FitRow> builder)
    {
        builder.ToTable("Fits");
        // Some kilobytes of text come last: what stands behind them in a row is found only by reading through them.
        string[] order =
        [
            nameof(FitRow.Id), nameof(FitRow.SpotId), nameof(FitRow.FittedAt), nameof(FitRow.Standing), nameof(FitRow.Reason), nameof(FitRow.DecidedAt),
            nameof(FitRow.Format), nameof(FitRow.SampleCount), nameof(FitRow.LearnedFrom), nameof(FitRow.LearnedTo), nameof(FitRow.MeanOffsetKelvin),
            nameof(FitRow.ResidualScaleKelvin), nameof(FitRow.IntervalCoveragePercent), nameof(FitRow.Json),
        ];
        for (var place = 0; place < order.Length; place++)
            builder.Property(order[place]).HasColumnOrder(place);
        // All that the plot of a spot's history needs.
        builder.HasIndex(f => new { f.SpotId, f.FittedAt, f.SampleCount, f.MeanOffsetKelvin });
        builder.HasIndex(f => f.Standing);
        builder.HasIndex(f => f.Format);
        // At most one fit in use a spot, whoever writes.
        builder.HasIndex(f => f.SpotId).IsUnique().HasFilter("\"Standing\" = 'InUse'");
        builder.HasOne<SpotRow>().WithMany().HasForeignKey(f => f.SpotId);
    }
}
