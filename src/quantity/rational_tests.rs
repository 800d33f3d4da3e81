//! Our exact numbers beside the library's, around the edges of a machine word.

use proptest::prelude::*;

use super::*;

/// Numbers around the edges of a machine word, and ordinary ones.
fn some() -> impl Strategy<Value = (i128, i128)> {
    let edge = i128::from(i64::MAX);
    let over =
        prop_oneof![-1000..1000i128, edge - 3..edge + 3, -edge - 3..-edge + 3, any::<i64>().prop_map(i128::from)];
    let under = prop_oneof![1..1000i128, edge - 3..edge + 3, -9..-1i128];
    (over, under)
}

fn big((over, under): (i128, i128)) -> BigRational {
    BigRational::new(over.into(), under.into())
}

fn same(ours: &Rational, library: &BigRational) -> Result<(), TestCaseError> {
    prop_assert_eq!(ours.to_big(), library.clone());
    // One number has one form.
    prop_assert_eq!(ours, &Rational::from_big(library.clone()));
    prop_assert_eq!(ours.to_string(), library.to_string());
    Ok(())
}

proptest! {
    #[test]
    fn counts_as_the_library_does(one in some(), other in some()) {
        let (a, b) = (Rational::new(one.0, one.1), Rational::new(other.0, other.1));
        let (la, lb) = (big(one), big(other));
        same(&(&a + &b), &(&la + &lb))?;
        same(&(&a - &b), &(&la - &lb))?;
        same(&(&a * &b), &(&la * &lb))?;
        same(&((&a + &b) * (&a - &b)), &((&la + &lb) * (&la - &lb)))?;
        if !b.is_zero() {
            same(&(&a / &b), &(&la / &lb))?;
        }
        prop_assert_eq!(a.cmp(&b), la.cmp(&lb));
        prop_assert_eq!((&a * &b).cmp(&(&b + &a)), (&la * &lb).cmp(&(&lb + &la)));
        same(&-&a, &-&la)?;
        same(&a.abs(), &la.abs())?;
        same(&a.floor(), &la.floor())?;
        same(&a.ceil(), &la.ceil())?;
        same(&a.round(), &la.round())?;
        prop_assert_eq!(a.is_integer(), la.is_integer());
        prop_assert_eq!(a.to_f64().to_bits(), la.to_f64().unwrap_or(f64::NAN).to_bits());
    }
}

#[test]
fn decimals_end_or_do_not() {
    assert_eq!(Rational::new(1, 8).decimals(), Some(3));
    assert_eq!(Rational::new(3, 40).decimals(), Some(3));
    assert_eq!(Rational::new(7, 1).decimals(), Some(0));
    assert_eq!(Rational::new(1, 3).decimals(), None);
    assert_eq!(Rational::scaled(1.into(), 30).decimals(), Some(30));
    assert_eq!((Rational::scaled(1.into(), 30) / Rational::new(3, 1)).decimals(), None);
}
