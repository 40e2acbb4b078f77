using System.Text.Json;
using PavementWatch.Core.Offsets;

namespace PavementWatch.Dashboards.Texts;

/// <summary>Why an estimate may be further off than its interval says, in plain words. None of them makes a spot look safer.</summary>
internal static class EstimateDoubtTexts
{
    // What may make it hotter than shown stands first.
    private static readonly EstimateDoubt[] Order =
    [
        EstimateDoubt.HotterThanSeen, EstimateDoubt.HandbookOnly, EstimateDoubt.AirGuessed, EstimateDoubt.ColderThanSeen, EstimateDoubt.MaybeWet,
    ];

    /// <summary>One sentence without a full stop; empty when there is no doubt.</summary>
    public static string Of(EstimateDoubt doubt) =>
        doubt == EstimateDoubt.None ? "" : $"Less sure: {string.Join("; ", Each(doubt).Select(One))}";

    /// <summary>The doubts one by one, the gravest first.</summary>
    public static IEnumerable<EstimateDoubt> Each(EstimateDoubt doubt) => Order.Where(d => doubt.HasFlag(d));

    /// <summary>Names for programs, e.g. <c>maybeWet</c>.</summary>
    public static IReadOnlyList<string> Names(EstimateDoubt doubt) =>
        [.. Each(doubt).Select(d => JsonNamingPolicy.CamelCase.ConvertName(d.ToString()))];

    /// <summary>One doubt's words.</summary>
    public static string One(EstimateDoubt doubt) => doubt switch
    {
        EstimateDoubt.HotterThanSeen => "hotter air than beside any reading here, the ground may be hotter than this",
        EstimateDoubt.HandbookOnly => "no reading here to learn from, this is what such ground usually does",
        EstimateDoubt.AirGuessed => "the air is not known either, it is taken to repeat its last day",
        EstimateDoubt.ColderThanSeen => "colder air than beside any reading here",
        EstimateDoubt.MaybeWet => "may be wet, then probably cooler than this, but do not count on it",
        _ => "for an unknown reason",
    };
}
