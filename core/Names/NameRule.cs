using System.Globalization;

namespace PavementWatch.Core.Names;

/// <summary>What a name that people read may hold: of a spot, a site, a person or a dog. One line of plain text, whoever enters it.</summary>
public static class NameRule
{
    /// <summary>[UTF-16 characters] Longest name, inclusive.</summary>
    public const int MaxLength = 80;

    // The two joiners; some scripts and pictures are written with them.
    private const char NonJoiner = '\u200C';
    private const char Joiner = '\u200D';

    /// <summary>Looks at a name.</summary>
    /// <param name="what">What it names, as the message begins: <c>name</c>, <c>site</c>.</param>
    /// <param name="name">The name; <c>null</c> counts as empty.</param>
    /// <returns>What is wrong with it and what was expected; <c>null</c> when all is well.</returns>
    public static string? Fault(string what, string? name)
    {
        if (name is not { Length: >= 1 and <= MaxLength })
            return $"{what} has {name?.Length ?? 0} characters, expected 1 to {MaxLength}";
        for (var i = 0; i < name.Length; i++)
        {
            var category = CharUnicodeInfo.GetUnicodeCategory(name, i);
            if (category is UnicodeCategory.Control or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator)
                return $"{what} holds a line break or another control character, expected one line; remove it";
            if (category is UnicodeCategory.Surrogate || (category is UnicodeCategory.Format && name[i] is not (NonJoiner or Joiner)))
                return $"{what} holds a character that is not seen (U+{(int)name[i]:X4}), expected letters, digits, signs and spaces; type it anew";
            if (char.IsHighSurrogate(name[i]))
                i++;
        }

        return char.IsWhiteSpace(name[0]) || char.IsWhiteSpace(name[^1])
            ? $"{what} begins or ends with a space, expected a letter, digit or sign; remove it"
            : null;
    }
}
